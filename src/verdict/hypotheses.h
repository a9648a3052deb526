// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "clockassay/base/rational.h"
#include "clockassay/base/units.h"
#include "clockassay/estimate/frequency_estimate.h"
#include "clockassay/verdict/cause.h"
#include "clockassay/verdict/specification.h"

namespace clockassay {

/// One guess in figures at what the board, or the capture, does instead of what
/// is expected.
struct Hypothesis {
  CauseCode code = CauseCode::kOtherSource;
  std::string cause;       ///< in words
  std::string expression;  ///< the clock path it means
  Rational ratio;          ///< measured over intended
  /// What of that the path alone does; absent: all of it.
  std::optional<Rational> path_ratio = {};
  Rational frequency_hz;      ///< what the pin would show
  ToleranceBand source_ppm;   ///< what its source may be off
  int slips = 1;              ///< things that must have gone wrong at once
  bool from_suspect = false;  ///< somebody named its source
  /// Of its kind; 0: what the others leave, in equal parts.
  double share = 0.0;
  /// Where on the path: factors before this one are as intended. Absent: the
  /// source, or the capture.
  std::optional<std::size_t> factor = {};
  std::string seen = {};  ///< in the capture that gave rise to it
  std::string advice;
  std::string settled_by;
};

/// Every suspect on the intended clock path, every neighbour of the path with
/// the expected source, and every suspect on every neighbour of the path.
/// A neighbour beyond exact range is left out: it cannot be a frequency a
/// pin shows. In a fixed order.
std::vector<Hypothesis> make_hypotheses(const ClockSpec& clock,
                                        const std::vector<Suspect>& suspects);

/// Appends usual values that nobody named: other crystals and RC oscillators on
/// the path, a loop that holds whole multiples of 32.768 kHz, numbers that are
/// mixed up (1000 and 1024, 1000 and 1001, audio families), a prescaler, a
/// crystal on another overtone, and a wrong rate or unit of the file.
/// Source: docs/verdict.md#causes
void append_usual(const ClockSpec& clock, const std::vector<Suspect>& suspects,
                  std::vector<Hypothesis>& list);

/// Appends each divider n of the path that counts n and n + 1, or n - 1 and n,
/// in turns, where periods of two lengths in turns are seen that far apart:
/// neighbours differ by that on average, twice what each differs from the mean.
/// In:     frequency  measured; window  of one edge, absent: not known
void append_in_turns(const ClockSpec& clock, const Jitter& jitter,
                     Hertz frequency, std::optional<Seconds> window,
                     std::vector<Hypothesis>& list);

/// What to check where another source may run, and what settles that.
std::string source_advice();
std::string source_settled_by();

/// A path whose output is so many times what it should be: "24MHz / 2 * (2/3)".
std::string expression_times(const ClockPath& path, const Rational& ratio);

}  // namespace clockassay
