// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <limits>
#include <span>
#include <string_view>

#include "base/simd_level.h"

namespace clockassay {

/// What rows have in common that begin with a time, a plain number of any
/// length, and behind it differ in nothing but levels of 0 or 1.
class CsvScanShape {
 public:
  /// Bytes of the rest of a row with its line end.
  static constexpr std::size_t kMostRest = 64;
  /// Bytes of a time with its mark, and digits of it when written in full.
  static constexpr std::size_t kTimeBytes = 16;

  CsvScanShape() = default;
  /// In:     rest      what follows the time, 1 … kMostRest bytes, with the
  ///                   line end
  ///         turning   bit i: byte i of the rest may turn from 0 to 1 and back
  ///         mark      decimal mark
  ///         decimals  digits behind it when a time is written in full; below
  ///                   kTimeBytes
  CsvScanShape(std::string_view rest, std::uint64_t turning, char mark,
               std::size_t decimals);

  std::size_t rest_size() const { return size_; }
  std::size_t decimals() const { return decimals_; }
  /// Bit i of `turning` in CsvScan::Changes::levels.
  std::uint64_t level_bit(std::size_t i) const {
    return std::uint64_t{1} << (kMostRest - size_ + i);
  }

 private:
  friend class CsvScan;
  using Shuffle = std::array<std::uint8_t, kTimeBytes>;

  std::size_t size_ = 0;
  std::size_t decimals_ = 0;
  char mark_ = '.';
  // The rest, ending where these end, and the bits of it that do not change.
  std::array<std::uint8_t, kMostRest> text_{}, fixed_{};
  std::uint64_t turning_ = 0;
  // By the place of the mark: where the digits go, whole ones ending and
  // decimals beginning where those of a full time do.
  std::array<Shuffle, kTimeBytes + 1> places_{};
};

/// Which steps from row to row may be taken without a look at each [ticks].
struct CsvSteps {
  std::int64_t least = 1;  ///< at least 1
  std::int64_t most = std::numeric_limits<std::int64_t>::max();
};

/// Takes rows many at a time, and finds those that change a level.
class CsvScan {
 public:
  /// Bytes looked at in one step.
  static constexpr std::size_t kChunk = 64;
  /// Nothing is taken from less, nor nearer to the beginning of the bytes.
  static constexpr std::size_t kLeastBytes = kChunk + 17;
  static constexpr std::size_t kLeastBefore = CsvScanShape::kMostRest;

  /// Rows in which a level turned: the time, and the levels from then on, of
  /// all that may turn. See CsvScanShape::level_bit.
  struct Changes {
    std::span<const std::int64_t> times;
    std::span<const std::uint64_t> levels;
  };

  /// Takes rows from bytes[begin] on, where one begins, as long as every byte
  /// is as the shape says and times go on in such steps. The same for all
  /// levels of instructions.
  /// In: time and levels of the row before
  void take(const CsvScanShape& shape, std::string_view bytes,
            std::size_t begin, std::int64_t time, std::uint64_t levels,
            const CsvSteps& steps, SimdLevel simd);

  std::size_t rows() const { return rows_; }
  /// More may follow.
  bool is_full() const { return rows_ >= kMost; }
  /// Bytes of the rows taken.
  std::size_t size() const { return rows_ == 0 ? 0 : ends_[rows_]; }
  /// Of each row, in units of the last of CsvScanShape::decimals.
  std::span<const std::int64_t> times() const {
    return {times_.data() + 1, rows_};
  }
  /// Levels of the last row, or the one before.
  std::uint64_t levels() const { return levels_[rows_]; }
  /// How many decimals each time is written with.
  std::span<const std::uint8_t> decimals() const {
    return {decimals_.data(), rows_};
  }
  Changes changes() const {
    return {{change_times_.data(), changes_},
            {change_levels_.data(), changes_}};
  }

 private:
  struct RowLook;
  struct FourRowsLook;

  void find_plain(const CsvScanShape& shape, std::string_view rows);
  void find_avx2(const CsvScanShape& shape, std::string_view rows);
  void find_avx512(const CsvScanShape& shape, std::string_view rows);
  bool take_row(const CsvScanShape& shape, const char* rows, std::size_t i);
  std::size_t take_rows_avx2(const CsvScanShape& shape, const char* rows,
                             std::size_t from);
  std::size_t take_rows_avx512(const CsvScanShape& shape, const char* rows);
  bool steps_fit_avx2(const CsvSteps& steps) const;
  void keep_steps(const CsvSteps& steps);
  void find_changes();
  void find_changes_avx512();

  static constexpr std::size_t kMost = 1024;  // chosen: most of it stays in L1
  // Those of a chunk more, and what is written beyond the last.
  static constexpr std::size_t kRoom = kMost + kChunk + 8;

  std::size_t rows_ = 0;
  std::size_t changes_ = 0;
  std::array<std::uint32_t, kRoom + 1> ends_;  // 0, then where each row ends
  // Of the row before, then of each.
  std::array<std::int64_t, kRoom + 1> times_;
  std::array<std::uint64_t, kRoom + 1> levels_;
  std::array<std::uint8_t, kRoom> decimals_;
  std::array<std::int64_t, kRoom> change_times_;
  std::array<std::uint64_t, kRoom> change_levels_;
};

}  // namespace clockassay
