// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <optional>

namespace clockassay {

/// How finely the decimal stamps of a text were written; gathered over all of
/// them, in any order. Places are powers of ten of a tick.
/// A text writes either a fixed number of decimals, whose trailing zeros may
/// be left out, or a fixed number of significant digits. With F the finest
/// place, M the place of the first digit of the largest number and S the most
/// digits of any number, the last place it can tell apart everywhere is
///   max(F, M - S + 1):
/// F in the first case, where the largest number has the most digits, and what
/// the digits leave of the largest number in the second.
class StampDigits {
 public:
  /// A number whose first digit other than 0 has the place `first` (absent for
  /// zero) and whose last written digit has the place `last`.
  void add(std::optional<int> first, int last);
  void merge(const StampDigits& other);
  /// 10^max(F, M - S + 1), at least 1 tick.
  std::int64_t resolution_ticks() const;

 private:
  std::optional<int> finest_place_;    // F
  std::optional<int> greatest_place_;  // M
  int most_digits_ = 0;                // S
};

}  // namespace clockassay
