// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cmath>
#include <cstddef>
#include <cstdint>
#include <random>
#include <vector>

namespace clockassay::faults {

/// What a trial draws; the same seed draws the same.
class Draw {
 public:
  explicit Draw(std::seed_seq& seed) : random_(seed) {}

  double uniform(double low, double high) {
    return low +
           (high - low) * std::uniform_real_distribution<double>()(random_);
  }
  /// Every octave alike.
  double octaves(double low, double high) {
    return low * std::exp(uniform(0.0, std::log(high / low)));
  }
  /// Of either sign, by magnitude from low to high.
  double either_sign(double low, double high) {
    const double size = uniform(low, high);
    return chance(0.5) ? size : -size;
  }
  std::int64_t whole(std::int64_t low, std::int64_t high) {
    return std::uniform_int_distribution<std::int64_t>(low, high)(random_);
  }
  bool chance(double probability) { return uniform(0.0, 1.0) < probability; }
  double normal() { return normal_(random_); }
  template <class List>
  auto one_of(const List& list) {
    return *(std::begin(list) +
             whole(0, static_cast<std::int64_t>(std::size(list)) - 1));
  }

 private:
  std::mt19937_64 random_;
  std::normal_distribution<double> normal_;
};

}  // namespace clockassay::faults
