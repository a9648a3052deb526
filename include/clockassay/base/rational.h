// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <compare>
#include <cstdint>
#include <optional>
#include <string>

#include "clockassay/base/units.h"

namespace clockassay {

/// An exact fraction in lowest terms with a positive denominator.
/// Numerator and denominator stay below 2^126 in magnitude; an operation whose
/// result would not fit returns nullopt, never a rounded value.
class Rational {
 public:
  constexpr Rational() = default;
  constexpr Rational(std::int64_t whole) : num_(whole) {}  // NOLINT: exact
  /// num / den reduced; nullopt when den is 0 or the range is left.
  static std::optional<Rational> make(Int128 num, Int128 den);

  constexpr Int128 num() const { return num_; }
  constexpr Int128 den() const { return den_; }
  constexpr bool is_integer() const { return den_ == 1; }
  constexpr int sign() const { return num_ > 0 ? 1 : num_ < 0 ? -1 : 0; }

  /// The nearest double (within one unit in the last place).
  double to_double() const;
  /// "3" or "24000000/7".
  std::string to_string() const;

  friend bool operator==(const Rational&, const Rational&) = default;
  /// Exact: compares continued fractions, so it cannot overflow.
  friend std::strong_ordering operator<=>(const Rational& a, const Rational& b);

 private:
  Int128 num_ = 0;
  Int128 den_ = 1;
};

/// nullopt also when the common denominator of a and b leaves the range.
std::optional<Rational> add(const Rational& a, const Rational& b);
std::optional<Rational> subtract(const Rational& a, const Rational& b);
std::optional<Rational> multiply(const Rational& a, const Rational& b);
/// nullopt also when b is 0.
std::optional<Rational> divide(const Rational& a, const Rational& b);

}  // namespace clockassay
