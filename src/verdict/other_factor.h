// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "clockassay/base/rational.h"
#include "clockassay/oscillator/clock_path.h"

namespace clockassay {

/// Another whole number in place of a factor of the path.
struct OtherFactor {
  Rational ratio;      ///< measured over intended
  double share = 0.0;  ///< of all the times that a factor is another
  /// Which factor of the path; absent where the ratio is no single one's.
  std::optional<std::size_t> factor;
  std::string words;  ///< "divider 16 is 3", or empty
};

/// What may give a frequency that is `measured` of the expected one, within
/// `reach`: for each whole factor what it would have to be, if that is whole,
/// every octave up to a million as likely and every factor; and the simplest
/// fraction, which several factors may make together, and which is likelier the
/// simpler it is.
/// Source: docs/verdict.md#causes
std::vector<OtherFactor> find_other_factors(const ClockPath& path,
                                            double measured, double reach);

}  // namespace clockassay
