// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/csv_rows_at_once.h"

#include <algorithm>
#include <optional>

#include "base/simd_level.h"
#include "capture/csv_cells.h"

namespace clockassay {
namespace {

/// Power of ten of the first digit; nullopt for 0.
std::optional<int> first_place(std::int64_t ticks) {
  if (ticks == 0) return std::nullopt;
  int place = 0;
  for (; ticks >= 10; ticks /= 10) ++place;
  return place;
}

}  // namespace

std::size_t CsvRowsAtOnce::take(const CsvRowRead& row, std::size_t next) {
  if (!rest_.is_due()) return 0;
  rest_.found_none();
  if (!csv_.columns.time) return take_samples(row, next);
  if (!runs_are_short_) {
    const std::size_t taken = take_runs(row, next);
    // chosen: what a scan takes in the time of looking for a run
    constexpr std::size_t kFewRows = 64;
    runs_are_short_ = taken < kFewRows * row.record.size();
    if (taken > 0) return taken;
  }
  const std::size_t taken = take_scans(row, next);
  if (taken == 0) runs_are_short_ = false;
  return taken;
}

// Rows that are the same but for the time and one level in turns.
std::size_t CsvRowsAtOnce::take_runs(const CsvRowRead& row, std::size_t next) {
  const std::string_view rest = bytes_.substr(next);
  auto found = csv_run_after(csv_, row, rest);
  if (!found) return 0;
  const auto run = std::make_unique_for_overwrite<RecordRun>();
  std::size_t taken = 0;
  do {
    run->take(found->shape, rest.substr(taken), found->level == Level::kLow,
              piece_.last_time.count() / found->ticks, simd_level());
    run->keep_until(kMostTicks / found->ticks);
    if (run->count() == 0) break;
    rest_ = LookRest();
    deliver(*found, *run);
    taken += run->count() * found->shape.size();
  } while (run->count() == RecordRun::kMost);
  return taken;
}

// Those whose times may be of any length, and more than one level turn.
std::size_t CsvRowsAtOnce::take_scans(const CsvRowRead& row, std::size_t next) {
  if (next < CsvScan::kLeastBefore) return 0;
  auto like = csv_scan_like(csv_, row);
  if (!like) return 0;
  const CsvSteps steps = csv_scan_steps(csv_);
  if (!scan_) scan_ = std::make_unique_for_overwrite<CsvScan>();
  std::size_t at = next;
  do {
    scan_->take(like->shape, bytes_, at, piece_.last_time.count(), like->levels,
                steps, simd_level());
    if (scan_->rows() == 0) break;
    rest_ = LookRest();
    deliver(*like, *scan_);
    like->levels = scan_->levels();
    at += scan_->size();
  } while (scan_->is_full());
  return at - next;
}

// Those that are samples and have no time.
std::size_t CsvRowsAtOnce::take_samples(const CsvRowRead& row,
                                        std::size_t next) {
  auto like = csv_samples_like(csv_, row);
  if (!like) return 0;
  std::size_t at = next;
  do {
    like->scan->take(bytes_, at, simd_level());
    if (like->scan->rows() == 0) break;
    rest_ = LookRest();
    for (CsvTurning& turning : like->read) {
      deliver(turning, like->scan->turns());
    }
    at += like->scan->size();
    const auto rows = static_cast<std::int64_t>(like->scan->rows());
    piece_.last_time = piece_.last_time + Ticks(csv_.ticks_per_row_tick * rows);
    state_.time = piece_.last_time;
  } while (like->scan->is_full());
  return at - next;
}

void CsvRowsAtOnce::deliver(CsvRun& found, RecordRun& run) {
  run.scale(found.ticks);
  const Level first = opposite(found.level);
  values_.take_alternating(found.column, first, run.odd(), run.even());
  if (run.count() % 2 == 1) found.level = first;
  piece_.last_time = Ticks(run.last());
  // The last time has the most digits, and all have the same last place.
  piece_.stamp_digits.add(first_place(run.last()), *first_place(found.ticks));
}

void CsvRowsAtOnce::deliver(const CsvScanRows& like, const CsvScan& scan) {
  const auto [times, levels] = scan.changes();
  times_.resize(times.size() + 1);
  high_.resize(times.size() + 1);
  for (const CsvScanRows::Turning& turning : like.turning) {
    std::uint8_t before = (like.levels & turning.bit) != 0 ? 1 : 0;
    std::size_t turns = 0;
    for (std::size_t i = 0; i < times.size(); ++i) {
      const std::uint8_t high = (levels[i] & turning.bit) != 0 ? 1 : 0;
      times_[turns] = times[i];
      high_[turns] = high;
      turns += high != before ? 1U : 0U;
      before = high;
    }
    values_.take_many(turning.column, {times_.data(), turns},
                      {high_.data(), turns});
  }
  count_digits(scan);
  piece_.last_time = Ticks(scan.times().back());
}

// The turns of one column, after the last row.
void CsvRowsAtOnce::deliver(CsvTurning& turning,
                            std::span<const CsvSampleScan::Turn> turns) {
  times_.resize(turns.size() + 1);
  high_.resize(turns.size() + 1);
  const std::int64_t last = piece_.last_time.count();
  const std::uint8_t before = turning.high ? 1 : 0;
  // Others are written, too, and written over.
  std::size_t own = 0;
  for (const CsvSampleScan::Turn& turn : turns) {
    times_[own] = last + csv_.ticks_per_row_tick * (turn.row + 1);
    high_[own] = static_cast<std::uint8_t>((before + own + 1) % 2);
    own += turn.place == turning.place ? 1U : 0U;
  }
  turning.high = (before + own) % 2 != 0;
  values_.take_many(turning.column, {times_.data(), own}, {high_.data(), own});
}

// Numbers with as many digits have the first at the same place: of them, the
// one with the most decimals says all.
void CsvRowsAtOnce::count_digits(const CsvScan& scan) {
  const int full = *csv_.columns.unit_exponent - csv_.tick_exponent;
  const auto times = scan.times();
  const auto decimals = scan.decimals();
  const auto last = first_place(times.back());
  if (first_place(times.front()) == last) {
    const auto most = *std::max_element(decimals.begin(), decimals.end());
    return piece_.stamp_digits.add(last, full - most);
  }
  for (std::size_t i = 0; i < times.size(); ++i) {
    piece_.stamp_digits.add(first_place(times[i]), full - decimals[i]);
  }
}

}  // namespace clockassay
