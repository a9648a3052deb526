// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <memory>
#include <optional>
#include <span>
#include <string_view>
#include <vector>

#include "capture/csv_layout.h"
#include "capture/csv_sample_scan.h"
#include "capture/csv_scan.h"
#include "capture/record_run.h"
#include "clockassay/capture/level_event.h"

namespace clockassay {

/// Rows that differ only in the digits of their time and in one level.
struct CsvRun {
  RecordShape shape;
  std::int64_t ticks = 1;  ///< per unit of the digits, taken as a whole number
  std::size_t column = 0;  ///< of CsvLayout::values, the one that turns
  Level level = Level::kUnknown;  ///< of the row that was looked at
};

/// A row that was read, and what is needed of it.
struct CsvRowRead {
  std::string_view record;  ///< with its line end
  std::span<const std::string_view> cells;
  Ticks time;
};

/// Whether the row after this one is the same but for the time and one level,
/// as far as can be seen from a look at it.
/// In:     rest  all that follows the row
std::optional<CsvRun> csv_run_after(const CsvLayout& csv, const CsvRowRead& row,
                                    std::string_view rest);

/// Rows like one that was read, however long their times are.
struct CsvScanRows {
  /// Times in ticks: a full one has as many decimals as a tick shows.
  CsvScanShape shape;
  std::uint64_t levels = 0;  ///< of the row; see CsvScan::take
  struct Turning {
    std::uint64_t bit = 0;   ///< see CsvScanShape::level_bit
    std::size_t column = 0;  ///< of CsvLayout::values
  };
  std::vector<Turning> turning;  ///< levels that are read
};

/// What rows like this one look like; nullopt when a scan cannot take them.
std::optional<CsvScanRows> csv_scan_like(const CsvLayout& csv,
                                         const CsvRowRead& row);
/// A cell that is 0 or 1 and may turn.
struct CsvTurning {
  std::size_t place = 0;   ///< in the row
  std::size_t column = 0;  ///< of CsvLayout::values
  bool high = false;       ///< 1 in the row that was read
};

/// Rows without a time like one that was read.
struct CsvSampleRows {
  std::unique_ptr<CsvSampleScan> scan;
  std::vector<CsvTurning> read;  ///< levels that are read
};

/// What rows like this one look like; nullopt when they have a time, or a scan
/// cannot take them.
std::optional<CsvSampleRows> csv_samples_like(const CsvLayout& csv,
                                              const CsvRowRead& row);
/// The steps between rows that nothing need be said of.
CsvSteps csv_scan_steps(const CsvLayout& csv);

}  // namespace clockassay
