// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <memory>
#include <span>
#include <string_view>
#include <vector>

#include "capture/csv_layout.h"
#include "capture/csv_run.h"
#include "capture/csv_values.h"
#include "capture/look_rest.h"
#include "clockassay/capture/importer.h"

namespace clockassay {

/// Takes rows of a piece many at a time, where they are like one that was read:
/// what they deliver is what they would deliver one by one.
class CsvRowsAtOnce {
 public:
  /// Rows go into `values`; times and their digits into `piece`, and the time
  /// into `state` where rows have none. All must outlive it.
  CsvRowsAtOnce(const CsvLayout& csv, std::string_view bytes, Piece& piece,
                ParseState& state, CsvValues& values)
      : csv_(csv),
        bytes_(bytes),
        piece_(piece),
        state_(state),
        values_(values) {}

  /// Called after each row that was read: takes those behind it, from `next`
  /// on; how many bytes they are.
  std::size_t take(const CsvRowRead& row, std::size_t next);

 private:
  std::size_t take_runs(const CsvRowRead& row, std::size_t next);
  std::size_t take_scans(const CsvRowRead& row, std::size_t next);
  std::size_t take_samples(const CsvRowRead& row, std::size_t next);
  void deliver(CsvRun& found, RecordRun& run);
  void deliver(const CsvScanRows& like, const CsvScan& scan);
  void deliver(CsvTurning& turning, std::span<const CsvSampleScan::Turn> turns);
  void count_digits(const CsvScan& scan);

  const CsvLayout& csv_;
  std::string_view bytes_;
  Piece& piece_;
  ParseState& state_;
  CsvValues& values_;
  LookRest rest_;  // asked before each row
  bool runs_are_short_ = false;
  std::unique_ptr<CsvScan> scan_;
  // Of one column; here so that their memory is kept.
  std::vector<std::int64_t> times_;
  std::vector<std::uint8_t> high_;
};

}  // namespace clockassay
