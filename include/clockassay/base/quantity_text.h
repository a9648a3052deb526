// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <string_view>

#include "clockassay/base/rational.h"
#include "clockassay/base/result.h"

namespace clockassay {

/// Quantities as people write them: a decimal number and a unit, blanks
/// between them allowed. All readers are exact, none touches floating point.
/// Errors: kUsage with what was found and what is allowed.

/// Hertz: "12MHz", "32.768 kHz", "1Hz", "1.5GHz"; a bare number is hertz.
/// Zero and negative values are refused, and so is "mHz", which nobody means.
Result<Rational> parse_frequency(std::string_view text);

/// Hertz, of samples: as a frequency, or "24MS/s", "1 GSa/s", "500 ksps".
Result<Rational> parse_sample_rate(std::string_view text);

/// Seconds: "10ms", "5us", "5µs", "1s", "300ps"; a bare number is seconds.
/// Negative values are refused.
Result<Rational> parse_time(std::string_view text);

/// Farads: "12pF", "8 fF", "1nF"; a bare number is farads. Negative values are
/// refused.
Result<Rational> parse_capacitance(std::string_view text);

/// Degrees Celsius: "23degC", "-40 °C". A bare number is refused, because it
/// may be meant as kelvin, and so is what lies below absolute zero.
Result<Rational> parse_temperature(std::string_view text);

/// Parts per million: "30ppm", "-12.3ppm", "50ppb", "0.25%". A bare number is
/// refused, because 30 may be meant as ppm or as a fraction.
Result<Rational> parse_fraction(std::string_view text);

/// A tolerance band in ppm; a plain or ± tolerance is symmetric.
struct ToleranceBand {
  Rational low_ppm;
  Rational high_ppm;
};

/// "30ppm", "±30ppm", "+-30ppm" (symmetric, positive) or
/// "-5300ppm..300ppm"; each end less than 100 %.
Result<ToleranceBand> parse_tolerance(std::string_view text);

/// The same where nothing to tolerate is a value too: "0%" is a band of zero.
Result<ToleranceBand> parse_tolerance_or_zero(std::string_view text);

struct TemperatureRange {
  Rational low_c;
  Rational high_c;
};

/// "-40..85", "-40degC..85degC", "0 °C..70 °C": a bare number is in degrees
/// Celsius; from absolute zero to 1000 degrees, the lower end first.
Result<TemperatureRange> parse_temperature_range(std::string_view text);

/// An offset with its tolerance, in ppm.
struct OffsetAndTolerance {
  Rational offset_ppm;
  Rational tolerance_ppm;
  bool has_offset = false;  ///< whether an offset was written at all
};

/// "25ppm" (tolerance alone), "-12.3ppm±2ppm", "-12.3ppm+-2ppm".
Result<OffsetAndTolerance> parse_offset_tolerance(std::string_view text);

/// A frequency with its tolerance, where one was written.
struct FrequencyAndTolerance {
  Rational frequency_hz;
  std::optional<Rational> tolerance_ppm;
};

/// "10MHz±0.1ppm", "1Hz+-50ppb", "10MHz".
Result<FrequencyAndTolerance> parse_frequency_tolerance(std::string_view text);

}  // namespace clockassay
