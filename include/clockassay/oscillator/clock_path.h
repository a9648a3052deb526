// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "clockassay/base/rational.h"
#include "clockassay/base/result.h"

namespace clockassay {

/// One multiplier or divider on the way from the source to the pin.
struct PathFactor {
  bool divides = false;
  Rational value;    ///< greater than zero
  std::string text;  ///< as written, such as "4" or "(40 + 3/8)"
};

/// The way of a clock from its source to the pin, exactly.
/// Model:  frequency = source * product of multipliers / product of dividers
struct ClockPath {
  std::string text;         ///< as written
  std::string source_text;  ///< the source as written, such as "24MHz"
  Rational source_hz;
  std::vector<PathFactor> factors;  ///< in the order written
  Rational frequency_hz;
  /// Exact factor from a frequency at the pin to the one at the source.
  Rational source_over_frequency;
};

/// Reads  frequency { ("*" | "/") factor }  where a factor is a positive
/// decimal number or arithmetic of + - * / on numbers in parentheses:
/// "24MHz / 3 * 42 / 4", "12MHz * (40 + 3/8)", "12MHz". A parenthesis that
/// holds a product only is as many factors: "/ ((71+1) * (999+1))" is "/ (71+1)
/// / (999+1)". Evaluated as a rational number, never in floating point. Errors:
/// kUsage with column (from 1), what was found, what was expected;
///         also for factors of zero or less, division by zero, values
///         beyond the range of Rational, and a source or pin above 1 THz or
///         below 1 uHz.
Result<ClockPath> parse_clock_path(std::string_view text);

/// Source and factors in the form parse_clock_path() reads, one blank around
/// each operator: "24MHz / 3 * 42 / 4".
std::string clock_path_expression(const ClockPath& path);

}  // namespace clockassay
