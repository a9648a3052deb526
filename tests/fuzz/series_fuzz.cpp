// SPDX-License-Identifier: GPL-3.0-or-later
// What libFuzzer calls: any bytes, read as a series; what is read of its
// frequencies is assayed and judged, and must keep its promises.
#include <cmath>
#include <cstdint>
#include <string_view>

#include "clockassay/analysis/assay_series.h"
#include "clockassay/drift/series_table.h"
#include "fuzz/check_reports.h"
#include "fuzz/require.h"

namespace clockassay {
namespace {

TemperaturePoint point_of(const SeriesRow& row) {
  constexpr double kPpm = 1e-6;
  TemperaturePoint point;
  point.place.temperature_c = row.temperature_c;
  point.place.u_temperature_c = row.u_temperature_c;
  point.place.time_s = row.time_s;
  point.place.line = row.line;
  point.place.board = row.board;
  point.place.sweep = row.sweep;
  point.frequency = Hertz(*row.frequency_hz);
  if (row.u_hz) point.u = Ppm(*row.u_hz / *row.frequency_hz / kPpm);
  point.rounding = Ppm(0.5 * row.resolution_hz / *row.frequency_hz / kPpm);
  point.half_width = point.timebase.tolerance;
  return point;
}

void judge(const MeasuredSeries& series) {
  DriftQuestion question;
  question.tolerance = ToleranceBand{Rational(-100), Rational(100)};
  question.range = Span{-20.0, 70.0};
  Record record;
  record.command = "drift";
  std::vector<Error> errors;
  record.drifts = assay_series(series, question, errors);
  for (const DriftResult& result : record.drifts) {
    const auto verdict = judge_drift(result);
    require(verdict.has_value(), "no verdict");
    const bool decided = verdict->decision == Decision::kPass;
    require(!decided || (result.assay && tested_between(*result.assay)),
            "a pass of a curve that nothing tests");
    require(!decided || !result.extrapolated, "a pass by extrapolation");
    record.verdicts.push_back(*verdict);
  }
  test::checked_reports(record);
}

}  // namespace
}  // namespace clockassay

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data,
                                      std::size_t size) {
  using namespace clockassay;
  // Chosen: the cost of a curve goes by the square of its points.
  constexpr std::size_t kMost = 64;
  const auto rows = read_series({reinterpret_cast<const char*>(data), size});
  if (!rows) {
    require(!rows.error().message.empty(), "an error without a message");
    return 0;
  }
  MeasuredSeries series;
  series.path = "series.csv";
  for (const SeriesRow& row : *rows) {
    require(std::isfinite(row.temperature_c), "a temperature that is none");
    require(row.capture.has_value() != row.frequency_hz.has_value(),
            "a row of both kinds, or of none");
    if (row.frequency_hz && series.points.size() < kMost) {
      series.points.push_back(point_of(row));
    }
  }
  if (!series.points.empty()) judge(series);
  return 0;
}
