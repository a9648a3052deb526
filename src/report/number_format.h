// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <string>

namespace clockassay {

// Numbers as a person reads them: digits in groups of three, an SI prefix,
// and as many digits as the uncertainty leaves meaningful: the expanded
// uncertainty with two significant digits, the value to the same decimal
// place (JCGM 100:2008, 7.2.6). All arguments are finite.

/// "12.000 731 MHz ± 25 Hz"
std::string frequency_with_uncertainty(double value_hz, double expanded_hz);

/// "12.000 731 MHz", digits as above.
std::string frequency_to(double value_hz, double expanded_hz);

/// "12 MHz", "32.768 kHz": a nominal, at most 12 significant digits.
std::string nominal_frequency(double value_hz);

/// "-3.0 ppm ± 2.1 ppm"; a positive value gets its sign.
std::string signed_with_uncertainty(double value, double expanded,
                                    const std::string& unit);

/// "83.33 ns" with that many significant digits.
std::string time_to_digits(double seconds, int significant_digits);

/// "20.31 ps ± 0.86 ps", digits as of a frequency, one prefix for both.
std::string time_with_uncertainty(double seconds, double expanded_s);

/// "83.327 18 ns", to the place two digits of the uncertainty reach.
std::string time_to(double seconds, double expanded_s);

/// "30.3 \u00B5W", "4.12 k\u03A9": any unit, that many significant digits.
std::string quantity_to_digits(double value, int significant_digits,
                               const std::string& unit);

/// "18 pF", "4.7 k\u03A9": as written, at most 12 significant digits.
std::string nominal_quantity(double value, const std::string& unit);

/// "18.0 pF \u00B1 1.1 pF", digits as of a frequency, one prefix for both.
std::string quantity_with_uncertainty(double value, double expanded,
                                      const std::string& unit);

/// "2.1", "0.000 42": that many significant digits, trailing zeros kept.
std::string number_to_digits(double value, int significant_digits);

/// "1.23e-10": that many significant digits.
std::string scientific(double value, int significant_digits);

/// The decimal exponent of the last place that two digits of an uncertainty
/// reach. In: > 0
int place_of_uncertainty(double expanded);

/// That of the last of so many significant digits. In: value is not 0
int place_of_digit(double value, int significant_digits);

/// "-20.5" to the place 10^place; what has many zeros
/// "1.23\u00B710\u207B\u2079".
std::string number_to_place(double value, int place);

/// How many significant digits of a value two digits of half its interval
/// reach; from 1 to `most`.
int digits_within(double value, double low, double high, int most);

/// "30", "2.5": shortest form of at most 12 significant digits.
std::string plain_number(double value);

/// "±30 ppm", "-5300 … +300 ppm"; what was worked out as shown_limit() has it.
std::string limits(double low, double high, const std::string& unit);

/// The same to the place two digits of the uncertainty reach: "-27.9 … +45.9".
std::string limits_to(double low, double high, double expanded,
                      const std::string& unit);

/// "120 000"
std::string count(std::int64_t n);

/// "> 0.9999", "0.97", "< 0.0001"
std::string probability(double p);

}  // namespace clockassay
