// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <span>
#include <string_view>

#include "base/simd_level.h"

namespace clockassay {

/// Takes rows without a time that differ in nothing but levels of 0 or 1, and
/// finds where one turns: each byte is compared with the one a row before.
class CsvSampleScan {
 public:
  static constexpr std::size_t kLongest = 64;  ///< bytes of a row

  /// In:     row      with its line end, 1 … kLongest bytes
  ///         turning  bit i: byte i may turn from 0 to 1 and back
  ///         read     bit i: and it matters
  CsvSampleScan(std::string_view row, std::uint64_t turning,
                std::uint64_t read);

  /// A level that turned.
  struct Turn {
    std::uint32_t row;
    std::uint32_t place;  ///< in the row
  };

  /// Takes rows from bytes[begin] on, the one before having been read; turns
  /// take as much room as there is. The same for all levels of instructions.
  void take(std::string_view bytes, std::size_t begin, SimdLevel simd);

  std::size_t rows() const { return rows_; }
  std::size_t size() const { return rows_ * row_size_; }
  /// In the order of the file.
  std::span<const Turn> turns() const { return {turns_.data(), turn_count_}; }
  /// More may follow.
  bool is_full() const { return is_full_; }

 private:
  static constexpr std::size_t kStep = 64;
  static constexpr std::size_t kMost = 1024;  // chosen: of turns, stays in L1
  static constexpr std::size_t kRoom = kMost + kStep;
  // Positions times kRowUnit fit 64 bits, and times kLongest fit kRowUnit.
  static constexpr std::size_t kMostBytes = std::size_t{1} << 27;
  static constexpr std::uint64_t kRowUnit = std::uint64_t{1} << 33;

  std::size_t find_plain(const char* rows, std::size_t from, std::size_t size);
  std::size_t find_avx2(const char* rows, std::size_t size);
  std::size_t find_avx512(const char* rows, std::size_t size);

  std::size_t row_size_;
  std::uint64_t per_row_;  // kRowUnit / row_size_, rounded up
  // From any byte of a row on: which bits may not turn, which are read.
  std::array<std::uint8_t, kLongest + kStep> fixed_{}, read_{};
  std::size_t rows_ = 0;
  std::size_t turn_count_ = 0;
  bool is_full_ = false;
  std::array<std::uint32_t, kRoom> at_;  // where turns are
  std::array<Turn, kRoom> turns_;
};

}  // namespace clockassay
