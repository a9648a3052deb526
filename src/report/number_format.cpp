// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/number_format.h"

#include <algorithm>
#include <array>
#include <cassert>
#include <charconv>
#include <cmath>
#include <cstddef>
#include <span>
#include <string_view>

#include "clockassay/base/number_text.h"

namespace clockassay {
namespace {

// A double carries no more (DBL_DIG).
constexpr int kMostDigits = 15;

// Decimal exponents beyond these would print zeros, not information.
constexpr int kMostDecimals = 30;

struct Prefix {
  int exponent;
  std::string_view text;
};

// No prefix below hertz: "mHz" is too easily read as megahertz.
constexpr Prefix kHertz[] = {{9, "GHz"}, {6, "MHz"}, {3, "kHz"}, {0, "Hz"}};
constexpr Prefix kSeconds[] = {{0, "s"},   {-3, "ms"},  {-6, "\u00B5s"},
                               {-9, "ns"}, {-12, "ps"}, {-15, "fs"}};

constexpr Prefix kAnyUnit[] = {{9, "G"},  {6, "M"},   {3, "k"},
                               {0, ""},   {-3, "m"},  {-6, "\u00B5"},
                               {-9, "n"}, {-12, "p"}, {-15, "f"}};

std::string fixed(double value, int decimals) {
  // The largest double has 309 digits before the point.
  std::array<char, 400> buffer{};
  const auto result =
      std::to_chars(buffer.data(), buffer.data() + buffer.size(), value,
                    std::chars_format::fixed, decimals);
  assert(result.ec == std::errc{});
  return {buffer.data(), result.ptr};
}

// Decimal exponent of the first digit once rounded to that many digits.
int leading_exponent(double value, int significant_digits) {
  std::array<char, 64> buffer{};
  const auto result = std::to_chars(
      buffer.data(), buffer.data() + buffer.size(), std::abs(value),
      std::chars_format::scientific, significant_digits - 1);
  const std::string_view text(
      buffer.data(), static_cast<std::size_t>(result.ptr - buffer.data()));
  const std::string_view digits = text.substr(text.find('e') + 1);
  int exponent = 0;
  const char* begin = digits.data() + (digits[0] == '+' ? 1 : 0);
  std::from_chars(begin, digits.data() + digits.size(), exponent);
  return exponent;
}

// Blanks between groups of three on both sides of the point, on each side
// only where it has more than four digits.
std::string grouped(const std::string& number) {
  const std::size_t begin = number.starts_with('-') ? 1 : 0;
  const std::size_t point = std::min(number.find('.'), number.size());
  const std::size_t whole = point - begin;
  std::string out = number.substr(0, begin);
  for (std::size_t i = 0; i < whole; ++i) {
    if (i > 0 && whole > 4 && (whole - i) % 3 == 0) out += ' ';
    out += number[begin + i];
  }
  if (point == number.size()) return out;
  out += '.';
  const std::size_t places = number.size() - point - 1;
  for (std::size_t i = 0; i < places; ++i) {
    if (i > 0 && places > 4 && i % 3 == 0) out += ' ';
    out += number[point + 1 + i];
  }
  return out;
}

bool is_zero(const std::string& number) {
  return number.find_first_of("123456789") == std::string::npos;
}

// `scaled` = value * 10^shift, printed so that the place 10^place of the
// unscaled value is the last one, within what a double can say.
std::string to_place(double scaled, int shift, int place) {
  if (place > shift) {
    const double unit = std::pow(10.0, place - shift);
    scaled = std::round(scaled / unit) * unit;
  }
  int decimals = std::max(0, shift - place);
  if (scaled != 0.0) {
    const int first = leading_exponent(scaled, kMostDigits);
    decimals = std::min(decimals, std::max(0, kMostDigits - 1 - first));
  }
  std::string number = fixed(scaled, std::min(decimals, kMostDecimals));
  if (number.starts_with('-') && is_zero(number)) number.erase(0, 1);
  return grouped(number);
}

const Prefix& fitting_prefix(double value, std::span<const Prefix> prefixes) {
  for (const Prefix& p : prefixes) {
    if (std::abs(value) >= std::pow(10.0, p.exponent)) return p;
  }
  return value == 0.0
             ? *std::find_if(prefixes.begin(), prefixes.end(),
                             [](const Prefix& p) { return p.exponent == 0; })
             : prefixes.back();
}

double scale(double value, int exponent) {
  // Division by an exact power rounds once; 10^-9 itself is not exact.
  return exponent >= 0 ? value / std::pow(10.0, exponent)
                       : value * std::pow(10.0, -exponent);
}

// Last place that two digits of the uncertainty reach.
int last_place(double expanded) {
  return expanded > 0.0 ? leading_exponent(expanded, 2) - 1 : -kMostDecimals;
}

std::string with_prefix(double value, int place,
                        std::span<const Prefix> prefixes) {
  // Of what will be written: 999.97 ns with four digits is 1.000 us.
  const double unit = std::pow(10.0, place);
  const double written =
      std::isnormal(unit) ? std::round(value / unit) * unit : value;
  const Prefix& p = fitting_prefix(written * (1.0 + 1e-12), prefixes);
  return to_place(scale(value, p.exponent), p.exponent, place) + ' ' +
         std::string(p.text);
}

std::string trimmed(std::string number) {
  if (number.find('.') == std::string::npos) return number;
  number.erase(number.find_last_not_of('0') + 1);
  if (number.ends_with('.')) number.pop_back();
  return number;
}

std::string shortest(double value) {
  constexpr int kNominalDigits = 12;  // chosen: below a double's own noise
  if (value == 0.0) return "0";
  const int first = leading_exponent(value, kNominalDigits);
  const int decimals = std::clamp(kNominalDigits - 1 - first, 0, kMostDecimals);
  return grouped(trimmed(fixed(value, decimals)));
}

std::string with_sign(double value, const std::string& number) {
  return value > 0.0 ? "+" + number : number;
}

}  // namespace

std::string frequency_to(double value_hz, double expanded_hz) {
  return with_prefix(value_hz, last_place(expanded_hz), kHertz);
}

std::string frequency_with_uncertainty(double value_hz, double expanded_hz) {
  return frequency_to(value_hz, expanded_hz) + " \u00B1 " +
         with_prefix(expanded_hz, last_place(expanded_hz), kHertz);
}

std::string nominal_frequency(double value_hz) {
  const Prefix& p = fitting_prefix(value_hz, kHertz);
  return shortest(scale(value_hz, p.exponent)) + ' ' + std::string(p.text);
}

std::string signed_with_uncertainty(double value, double expanded,
                                    const std::string& unit) {
  const int place = last_place(expanded);
  const std::string number = to_place(value, 0, place);
  return (is_zero(number) ? number : with_sign(value, number)) + ' ' + unit +
         " \u00B1 " + to_place(expanded, 0, place) + ' ' + unit;
}

std::string time_to_digits(double seconds, int significant_digits) {
  const int place = seconds == 0.0
                        ? 0
                        : leading_exponent(seconds, significant_digits) -
                              significant_digits + 1;
  return with_prefix(seconds, place, kSeconds);
}

std::string time_with_uncertainty(double seconds, double expanded_s) {
  const Prefix& p = fitting_prefix(seconds, kSeconds);
  const int place = last_place(expanded_s);
  const auto part = [&](double value) {
    return to_place(scale(value, p.exponent), p.exponent, place) + ' ' +
           std::string(p.text);
  };
  return part(seconds) + " \u00B1 " + part(expanded_s);
}

std::string quantity_to_digits(double value, int significant_digits,
                               const std::string& unit) {
  const int place = value == 0.0 ? 0
                                 : leading_exponent(value, significant_digits) -
                                       significant_digits + 1;
  return with_prefix(value, place, kAnyUnit) + unit;
}

std::string nominal_quantity(double value, const std::string& unit) {
  // Of what will be written: 3e-12 may be a little less than 3 p.
  const Prefix& p = fitting_prefix(value * (1.0 + 1e-12), kAnyUnit);
  return shortest(scale(value, p.exponent)) + ' ' + std::string(p.text) + unit;
}

std::string quantity_with_uncertainty(double value, double expanded,
                                      const std::string& unit) {
  const Prefix& p = fitting_prefix(value, kAnyUnit);
  const int place = last_place(expanded);
  const auto part = [&](double number) {
    return to_place(scale(number, p.exponent), p.exponent, place) + ' ' +
           std::string(p.text) + unit;
  };
  return part(value) + " \u00B1 " + part(expanded);
}

std::string time_to(double seconds, double expanded_s) {
  return with_prefix(seconds, last_place(expanded_s), kSeconds);
}

std::string number_to_digits(double value, int significant_digits) {
  if (value == 0.0) return "0";
  return to_place(
      value, 0,
      leading_exponent(value, significant_digits) - significant_digits + 1);
}

std::string scientific(double value, int significant_digits) {
  if (value == 0.0) return "0";
  std::array<char, 64> buffer{};
  const auto result =
      std::to_chars(buffer.data(), buffer.data() + buffer.size(), value,
                    std::chars_format::scientific, significant_digits - 1);
  return {buffer.data(), result.ptr};
}

int place_of_uncertainty(double expanded) {
  return last_place(expanded);
}

int place_of_digit(double value, int significant_digits) {
  return leading_exponent(value, significant_digits) - significant_digits + 1;
}

std::string number_to_place(double value, int place) {
  const double size = std::abs(value);
  // Chosen: what a person reads without counting zeros.
  if (value == 0.0 || (size >= 1e-3 && size < 1e7)) {
    return to_place(value, 0, place);
  }
  const int first = leading_exponent(value, kMostDigits);
  const std::string text = scientific(value, std::max(first - place, 0) + 1);
  constexpr std::string_view kRaised[] = {
      "\u2070", "\u00B9", "\u00B2", "\u00B3", "\u2074",
      "\u2075", "\u2076", "\u2077", "\u2078", "\u2079"};
  const std::size_t at = text.find('e');
  std::string out = text.substr(0, at) + "\u00B710";
  if (text[at + 1] == '-') out += "\u207B";
  std::size_t digit =
      std::min(text.find_first_not_of("+-0", at + 1), text.size() - 1);
  for (; digit < text.size(); ++digit) {
    out += kRaised[static_cast<std::size_t>(text[digit] - '0')];
  }
  return out;
}

int digits_within(double value, double low, double high, int most) {
  const int last = last_place(0.5 * (high - low));
  return std::clamp(leading_exponent(value, most) - last + 1, 1, most);
}

std::string plain_number(double value) {
  return shortest(value);
}

std::string limits(double low, double high, const std::string& unit) {
  const std::string blank = unit.empty() ? "" : " ";
  const double from = shown_limit(low, LimitSide::kLow);
  const double to = shown_limit(high, LimitSide::kHigh);
  if (low == -high) return "\u00B1" + shortest(to) + blank + unit;
  return with_sign(from, shortest(from)) + " \u2026 " +
         with_sign(to, shortest(to)) + blank + unit;
}

std::string limits_to(double low, double high, double expanded,
                      const std::string& unit) {
  const int place = last_place(expanded);
  const auto end = [place](double value) {
    const std::string number = to_place(value, 0, place);
    return is_zero(number) ? number : with_sign(value, number);
  };
  if (low == -high) return "\u00B1" + to_place(high, 0, place) + ' ' + unit;
  return end(low) + " \u2026 " + end(high) + ' ' + unit;
}

std::string count(std::int64_t n) {
  return grouped(std::to_string(n));
}

std::string probability(double p) {
  // Beyond these the tails of the distribution are guesses.
  constexpr double kSmallest = 0.0001;
  if (p < kSmallest) return "< 0.0001";
  if (p > 1.0 - kSmallest) return "> 0.9999";
  return p < 0.1 || p > 0.9 ? fixed(p, 4) : fixed(p, 2);
}

}  // namespace clockassay
