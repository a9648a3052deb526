// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "clockassay/base/rational.h"
#include "clockassay/base/units.h"
#include "clockassay/verdict/verdict.h"

namespace clockassay {

/// A clock of a specification as one capture shows it.
struct MeasuredClock {
  const ClockSpec* spec = nullptr;
  Hertz frequency;       ///< the instrument's time corrected, for all alike
  Ppm expanded;          ///< U of frequency
  Ppm expanded_capture;  ///< U in the instrument's own time, at 95 % always
};

/// Two clocks of one capture: the instrument's time drops out.
struct ClockPair {
  std::string clock;
  std::string against;
  Rational expected;  ///< frequency of the first over that of the second
  double measured = 0.0;
  Ppm difference;  ///< measured over expected, less one
  /// What two clocks of one source may differ by: both U in the instrument's
  /// own time, added up.
  Ppm allowed;
  /// Where they differ: measured over expected as a fraction, if one so simple
  /// would hardly be met by chance.
  std::optional<Rational> exact = {};
};

/// The clocks that a specification expects from one source.
struct SourceGroup {
  std::string capture;  ///< path
  std::string source;   ///< as named, or its frequency
  Hertz nominal;
  std::vector<std::string> clocks;    ///< two or more
  std::vector<ClockPair> pairs;       ///< each but the best known against that
  bool agree = false;                 ///< all run by the same ratio
  std::vector<std::string> odd = {};  ///< those at fault, where that shows
  std::string finding;                ///< in a sentence
};

/// Groups clocks by their source and holds them against each other.
/// Model:  outputs of one source are off by one ratio, whatever the source does
/// Out:    in the order of the specification; groups of one clock left out
/// Source: docs/verdict.md#clocks-of-one-source
std::vector<SourceGroup> group_by_source(std::span<const MeasuredClock> clocks);

/// The other clocks of the capture as evidence on the one of that index.
std::vector<OtherClock> others_of(std::span<const MeasuredClock> clocks,
                                  std::size_t index);

}  // namespace clockassay
