// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <string_view>

#include "capture/csv_layout.h"
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

}  // namespace clockassay
