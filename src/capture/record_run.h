// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <span>
#include <string_view>

#include "base/simd_level.h"

namespace clockassay {

/// What the records of a run have in common that differ in nothing but the
/// decimal digits of a time and a level of 0 or 1: a stamp and a change of a
/// VCD, or a row of a CSV.
class RecordShape {
 public:
  static constexpr std::size_t kLongest = 32;  ///< bytes of a record
  /// Bytes from the beginning among which all digits are.
  static constexpr std::size_t kDigitBytes = 16;

  RecordShape() = default;
  /// In:     record  one of the run, 1 … kLongest bytes
  ///         digits  bit i: byte i is a digit of the time, the first the most
  ///                 significant; none beyond kDigitBytes
  ///         level   which byte is the level; no digit
  RecordShape(std::string_view record, std::uint32_t digits, std::size_t level);

  std::size_t size() const { return size_; }

 private:
  friend class RecordRun;
  void put_side_by_side();
  using Lane = std::array<std::uint8_t, kDigitBytes>;

  std::size_t size_ = 0;
  std::size_t level_ = 0;
  std::uint32_t digits_ = 0;
  std::array<char, kLongest> text_{};
  // For vectors. Where the digits go, right-aligned, and what is taken off
  // them; the other bytes as they must be, at the beginning and at the end.
  Lane places_{}, zeros_{};
  std::array<Lane, 2> head_{}, tail_{};  // by level
  Lane head_mask_{}, tail_mask_{};
  // The same for four records side by side, of which the first has the level;
  // made where four fit.
  using FourLanes = std::array<std::uint8_t, 4 * kDigitBytes>;
  FourLanes four_places_{}, four_mask_{};
  std::array<FourLanes, 2> four_{};
  std::uint64_t four_digits_ = 0;
};

/// The times of consecutive records, by turns: the first, third, … and the
/// second, fourth, …
class RecordRun {
 public:
  static constexpr std::size_t kMost = 2048;

  /// Takes records from the beginning of `bytes`, the level of the first being
  /// `high`, as long as every byte is as the shape says, levels take turns and
  /// times increase from `after`; no more than kMost. The same for all levels
  /// of instructions.
  void take(const RecordShape& shape, std::string_view bytes, bool high,
            std::int64_t after, SimdLevel simd);

  /// Times in units of which each is `ticks` of the old ones. No overflow is
  /// looked for.
  void scale(std::int64_t ticks);
  /// Leaves out what is later than `most`.
  void keep_until(std::int64_t most);

  std::size_t count() const { return count_; }
  /// Time of the last record. In: count() > 0
  std::int64_t last() const {
    return by_turn_[(count_ - 1) % 2][(count_ - 1) / 2];
  }
  std::span<const std::int64_t> odd() const {
    return {by_turn_[0].data(), (count_ + 1) / 2};
  }
  std::span<const std::int64_t> even() const {
    return {by_turn_[1].data(), count_ / 2};
  }

 private:
  void take_plain(const RecordShape& shape, std::string_view bytes, bool high);
  void take_avx2(const RecordShape& shape, std::string_view bytes, bool high);
  void take_avx512(const RecordShape& shape, std::string_view bytes, bool high);
  void keep_increasing(std::int64_t after);

  std::size_t count_ = 0;
  // Four more, so that vectors may be written whole.
  std::array<std::array<std::int64_t, kMost / 2 + 4>, 2> by_turn_;
};

}  // namespace clockassay
