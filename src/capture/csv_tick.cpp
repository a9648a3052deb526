// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/csv_tick.h"

#include <algorithm>

#include "capture/power_of_ten.h"

namespace clockassay {
namespace {

// A tick finer than this is taken only where digits need it: 1 ps is below
// what any sampler resolves, and at 1 fs the range ends after 77 minutes.
constexpr int kFinestIdleTick = -12;

// The finest tick there is, 10^-18 s. Chosen: a thousandth of the finest unit
// of time that is read, and seconds still count in the range of a tick.
constexpr int kFinestTick = -18;

// What a finer tick for interpolation must leave in range [s]. Chosen: longer
// than captures are.
constexpr std::int64_t kLongestCapture = 86'400;

// Finest tick, against that of the rows, for interpolation: three places.
// Chosen: interpolating to a thousandth of a row is more than samples of 8 to
// 12 bits tell.
constexpr int kMostFinerPlaces = 3;

bool all_fit(const std::vector<SurveyRow>& rows, int place) {
  return std::all_of(rows.begin(), rows.end(), [place](const SurveyRow& row) {
    return stamp_ticks(row.time.stamp, place - row.time.unit).has_value();
  });
}

// The finest place worth telling apart.
int finest_place(const std::vector<SurveyRow>& rows) {
  int written = 0;
  std::optional<int> needed;
  for (const SurveyRow& row : rows) {
    const StampText& stamp = row.time.stamp;
    written = std::min(written, stamp.last_place + row.time.unit);
    if (stamp.digits == 0) continue;
    const int place = stamp.last_nonzero_place() + row.time.unit;
    needed = std::min(needed.value_or(place), place);
  }
  const int idle = std::max(written, kFinestIdleTick);
  const int place = std::min(idle, needed.value_or(idle));
  const int fitting = needed && !all_fit(rows, place) ? *needed : place;
  return std::min(fitting, 0);  // a second, or a sample, at most
}

// How many places finer than `place` a tick can be.
int finer_places(const std::vector<SurveyRow>& rows, int place, bool seconds) {
  for (int finer = kMostFinerPlaces; finer > 0; --finer) {
    const int exponent = place - finer;
    if (seconds && exponent < kFinestTick) continue;
    const auto day =
        StampText{false, static_cast<std::uint64_t>(kLongestCapture), 5, 0, 0};
    const bool holds_a_day = !seconds || stamp_ticks(day, exponent).has_value();
    // Room for ten times what the first rows show.
    if (holds_a_day && all_fit(rows, exponent - 1)) return finer;
  }
  return 0;
}

std::int64_t power(int places) {
  std::int64_t value = 1;
  for (; places > 0; --places) value *= 10;
  return value;
}

Result<CsvTick> stated_tick(const Rational& tick_s, const CsvColumns& columns) {
  if (columns.base != CsvTimeBase::kSeconds) {
    return failure(ErrorCode::kUsage,
                   "found --tick for times that count samples",
                   "leave --tick out: a sample is the unit");
  }
  for (int exponent = kFinestTick; exponent <= 0; ++exponent) {
    if (power_of_ten(exponent) == tick_s) return CsvTick{exponent, 1};
  }
  return failure(ErrorCode::kUsage,
                 "found --tick " + tick_s.to_string() +
                     " s, expected a power of ten from 1 s down to 1e-18 s",
                 "state one such as 1ns or 100ps");
}

}  // namespace

Result<CsvTick> choose_tick(const std::vector<SurveyRow>& rows,
                            const CsvColumns& columns,
                            const ReadOptions& options) {
  if (options.csv.tick_s) return stated_tick(*options.csv.tick_s, columns);
  CsvTick tick;
  if (columns.base == CsvTimeBase::kSamples) {
    tick.exponent = 0;  // a part of a sample is refused
  } else if (!columns.time || rows.empty()) {
    tick.exponent = columns.base == CsvTimeBase::kSeconds
                        ? columns.unit_exponent.value_or(0)
                        : 0;
    tick.exponent = std::min(tick.exponent, 0);
  } else {
    for (const SurveyRow& row : rows) {
      const StampText& stamp = row.time.stamp;
      if (stamp.digits == 0 ||
          stamp.last_nonzero_place() + row.time.unit >= kFinestTick) {
        continue;
      }
      Error error{ErrorCode::kBadData,
                  "found a time with digits below 1e-18 s, expected none",
                  "write the times with fewer digits"};
      error.byte = static_cast<std::int64_t>(row.byte);
      return tl::unexpected<Error>(std::move(error));
    }
    tick.exponent = finest_place(rows);
  }
  if (options.analogue && !rows.empty()) {
    const int finer = finer_places(rows, tick.exponent,
                                   columns.base == CsvTimeBase::kSeconds);
    tick.exponent -= finer;
    tick.per_row_tick = power(finer);
  }
  return tick;
}

}  // namespace clockassay
