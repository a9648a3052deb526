// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <compare>
#include <cstdint>

namespace clockassay {

/// 128-bit signed integer for exact sums and fractions.
__extension__ typedef __int128 Int128;

/// A count of capture ticks. One tick is the unit the file writes times in;
/// Timebase says how long it is. An instant is a count since the tick origin
/// of its capture; the difference of two instants is a duration.
class Ticks {
 public:
  constexpr Ticks() = default;
  constexpr explicit Ticks(std::int64_t count) : count_(count) {}
  constexpr std::int64_t count() const { return count_; }
  constexpr auto operator<=>(const Ticks&) const = default;
  constexpr Ticks operator-() const { return Ticks(-count_); }
  friend constexpr Ticks operator-(Ticks a, Ticks b) {
    return Ticks(a.count_ - b.count_);
  }
  friend constexpr Ticks operator+(Ticks a, Ticks b) {
    return Ticks(a.count_ + b.count_);
  }

 private:
  std::int64_t count_ = 0;
};

/// A cycle number, or a difference of two.
class Cycles {
 public:
  constexpr Cycles() = default;
  constexpr explicit Cycles(std::int64_t count) : count_(count) {}
  constexpr std::int64_t count() const { return count_; }
  constexpr auto operator<=>(const Cycles&) const = default;
  friend constexpr Cycles operator-(Cycles a, Cycles b) {
    return Cycles(a.count_ - b.count_);
  }
  friend constexpr Cycles operator+(Cycles a, Cycles b) {
    return Cycles(a.count_ + b.count_);
  }

 private:
  std::int64_t count_ = 0;
};

/// A real quantity of one kind. Adding two of a kind and scaling by a plain
/// number mean something; anything else goes through value().
template <class Kind>
class Quantity {
 public:
  constexpr Quantity() = default;
  constexpr explicit Quantity(double value) : value_(value) {}
  constexpr double value() const { return value_; }
  constexpr auto operator<=>(const Quantity&) const = default;
  constexpr Quantity operator-() const { return Quantity(-value_); }
  friend constexpr Quantity operator+(Quantity a, Quantity b) {
    return Quantity(a.value_ + b.value_);
  }
  friend constexpr Quantity operator-(Quantity a, Quantity b) {
    return Quantity(a.value_ - b.value_);
  }
  friend constexpr Quantity operator*(double s, Quantity a) {
    return Quantity(s * a.value_);
  }
  friend constexpr double operator/(Quantity a, Quantity b) {
    return a.value_ / b.value_;
  }

 private:
  double value_ = 0.0;
};

/// Time in seconds.
using Seconds = Quantity<struct SecondsKind>;
/// Frequency in hertz.
using Hertz = Quantity<struct HertzKind>;
/// A fractional difference in parts per million, always
/// (observed - nominal) / nominal of a *frequency*, so positive is fast.
using Ppm = Quantity<struct PpmKind>;
/// Capacitance in farads.
using Farads = Quantity<struct FaradsKind>;

}  // namespace clockassay
