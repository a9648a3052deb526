// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <algorithm>
#include <cstdint>
#include <optional>

#include "clockassay/base/rational.h"

namespace clockassay {

inline constexpr std::int64_t kPpm = 1000000;  ///< parts per million in one

/// A rational, or nothing where one on the way to it could not be held: so a
/// formula reads as it is written, and is asked once whether it came out.
class ExactNumber {
 public:
  ExactNumber(const Rational& value) : value_(value) {}  // NOLINT: exact
  ExactNumber(std::int64_t whole) : value_(whole) {}     // NOLINT: exact

  const std::optional<Rational>& value() const { return value_; }

  friend ExactNumber operator+(const ExactNumber& a, const ExactNumber& b) {
    return both(a, b, add);
  }
  friend ExactNumber operator-(const ExactNumber& a, const ExactNumber& b) {
    return both(a, b, subtract);
  }
  friend ExactNumber operator*(const ExactNumber& a, const ExactNumber& b) {
    return both(a, b, multiply);
  }
  friend ExactNumber operator/(const ExactNumber& a, const ExactNumber& b) {
    return both(a, b, divide);
  }
  friend ExactNumber smaller(const ExactNumber& a, const ExactNumber& b) {
    if (!a.value_ || !b.value_) return ExactNumber(std::nullopt);
    return std::min(*a.value_, *b.value_);
  }
  friend ExactNumber greater(const ExactNumber& a, const ExactNumber& b) {
    if (!a.value_ || !b.value_) return ExactNumber(std::nullopt);
    return std::max(*a.value_, *b.value_);
  }

 private:
  explicit ExactNumber(std::optional<Rational> value) : value_(value) {}

  template <class Operation>
  static ExactNumber both(const ExactNumber& a, const ExactNumber& b,
                          Operation operation) {
    if (!a.value_ || !b.value_) return ExactNumber(std::nullopt);
    return ExactNumber(operation(*a.value_, *b.value_));
  }

  std::optional<Rational> value_;
};

}  // namespace clockassay
