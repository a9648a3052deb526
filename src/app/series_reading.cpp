// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/series_reading.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "app/capture_reading.h"
#include "app/delivery.h"
#include "app/input_source.h"
#include "app/series_points.h"
#include "app/series_repeats.h"
#include "clockassay/analysis/stored_result.h"

namespace clockassay {
namespace {

constexpr double kPpm = 1e-6;

PointPlace place_of(const SeriesRow& row) {
  PointPlace place;
  place.source = row.capture.value_or("");
  place.line = row.line;
  place.board = row.board;
  place.temperature_c = row.temperature_c;
  place.u_temperature_c = row.u_temperature_c;
  place.time_s = row.time_s;
  place.sweep = row.sweep;
  return place;
}

// An indicated frequency by a timebase that is stated now.
void apply_timebase(const Timebase& timebase, Hertz indicated,
                    TemperaturePoint& point) {
  const double rate = 1.0 + timebase.offset.value() * kPpm;
  point.timebase = timebase;
  point.frequency = Hertz(indicated.value() * rate);
  point.half_width = Ppm(timebase.tolerance.value() / rate);
}

/// One series being measured.
class SeriesMeasurement {
 public:
  SeriesMeasurement(const std::string& path, const CommandLine& line,
                    ThreadPool& pool, Record& record)
      : line_(line), pool_(pool), record_(record) {
    series_.path = path;
    if (!line.reading.channels.empty()) {
      series_.channel = line.reading.channels.front();
    }
  }

  void measure(const SeriesRow& row) {
    if (row.frequency_hz) return take_frequency(row);
    const std::string path = path_beside(series_.path, *row.capture);
    const auto beginning = peek_at(path);
    if (!beginning) return lose(row, beginning.error());
    if (looks_like_json(*beginning)) return measure_stored(row, path);
    measure_capture(row, path);
  }

  Result<MeasuredSeries> finish() {
    std::sort(channels_.begin(), channels_.end());
    channels_.erase(std::unique(channels_.begin(), channels_.end()),
                    channels_.end());
    drop_repeats(series_);
    if (!series_.channel && channels_.size() > 1) {
      // Which of them is meant nobody can tell, and two are no one curve.
      Error error = several_clocks(channels_);
      error.path = series_.path;
      return tl::unexpected(std::move(error));
    }
    if (!series_.channel && channels_.size() == 1) {
      series_.channel = channels_.front();
    }
    return std::move(series_);
  }

 private:
  void lose(const SeriesRow& row, Error error) {
    error.message += " (line " + std::to_string(row.line) + " of " +
                     (series_.path == "-" ? "standard input" : series_.path) +
                     ")";
    add_error(record_, std::move(error));
    series_.lost.push_back(place_of(row));
  }

  void take_frequency(const SeriesRow& row) {
    TemperaturePoint point;
    point.place = place_of(row);
    apply_timebase(timebase_of(line_.reading), Hertz(*row.frequency_hz), point);
    if (row.u_hz) point.u = Ppm(*row.u_hz / *row.frequency_hz / kPpm);
    point.rounding = Ppm(0.5 * row.resolution_hz / *row.frequency_hz / kPpm);
    series_.points.push_back(std::move(point));
  }

  void measure_stored(const SeriesRow& row, const std::string& path) {
    const auto text = read_short_data(path, "a stored result");
    if (!text) return lose(row, text.error());
    const auto stored = parse_stored_result(*text);
    if (!stored) {
      Error error = stored.error();
      error.path = path;
      return lose(row, std::move(error));
    }
    take_stored(row, path, *stored);
  }

  void take_stored(const SeriesRow& row, const std::string& path,
                   const StoredResult& stored) {
    std::vector<const StoredClock*> clocks;
    std::vector<std::string> names;
    for (const StoredClock& clock : stored.clocks) {
      if (series_.channel && clock.channel != *series_.channel) continue;
      clocks.push_back(&clock);
      names.push_back(clock.channel);
    }
    if (clocks.size() > 1) {
      Error error = several_clocks(names);
      error.path = path;
      return lose(row, std::move(error));
    }
    if (clocks.empty()) {
      return take_silence(
          row, false,
          "the stored result has no clock" +
              (series_.channel ? " on " + *series_.channel : std::string()));
    }
    const StoredClock& clock = *clocks.front();
    TemperaturePoint point;
    point.place = place_of(row);
    point.is_stored = true;
    point.capture = stored.capture;
    point.u = clock.u;
    for (const PointWarning& w : clock.warnings) {
      if (w.code != warning_info(WarningCode::kTimebaseAssumed).name) {
        point.warnings.push_back(w);
      }
    }
    const auto& stated = line_.reading.timebase;
    if (stated && clock.timebase.kind != TimebaseKind::kReference) {
      apply_timebase(*stated, clock.indicated, point);
    } else {
      point.frequency = clock.frequency;
      point.half_width = clock.half_width;
      point.timebase = clock.timebase;
    }
    channels_.push_back(clock.channel);
    series_.points.push_back(std::move(point));
  }

  void take_silence(const SeriesRow& row, bool constant, std::string finding,
                    std::optional<double> lasted_s = {}) {
    if (!line_.drift.tolerance) {
      // Nobody asked whether it runs: then it is no data of a curve.
      return lose(row, {ErrorCode::kBadData, std::move(finding),
                        "measure it with clockassay measure --explain",
                        path_beside(series_.path, *row.capture)});
    }
    series_.silent.push_back(
        {place_of(row), constant, std::move(finding), lasted_s});
  }

  void measure_capture(const SeriesRow& row, const std::string& path) {
    Understanding understood;
    const ChannelChoice choice{line_.reading.channels,
                               line_.drift.tolerance.has_value()};
    auto capture =
        read_and_analyse(path, line_.reading, choice, pool_, understood);
    if (!capture) {
      if (line_.reading.explain && !understood.facts.empty()) {
        record_.refused.push_back({path, std::move(understood)});
      }
      return lose(row, capture.error());
    }
    take_capture(row, *capture);
    record_.captures.push_back(*std::move(capture));
  }

  void take_capture(const SeriesRow& row, const CaptureResult& capture) {
    std::vector<const ChannelResult*> clocks;
    std::vector<std::string> names;
    for (const ChannelResult& c : capture.channels) {
      if (c.is_reference) continue;
      clocks.push_back(&c);
      names.push_back(c.name);
    }
    if (clocks.size() > 1) {
      Error error = several_clocks(names);
      error.path = capture.path;
      return lose(row, std::move(error));
    }
    if (clocks.empty()) return take_no_clock(row, capture);
    const ChannelResult& clock = *clocks.front();
    channels_.push_back(clock.name);
    if (!clock.budget) {
      return take_silence(row, false,
                          clock.warnings.empty()
                              ? "its edges give no frequency"
                              : clock.warnings.back().message);
    }
    TemperaturePoint point;
    point.place = place_of(row);
    point.capture = *row.capture;
    take_budget(*clock.budget,
                capture.reference ? capture.reference->timebase
                                  : timebase_of(line_.reading),
                point);
    point.warnings = point_warnings(clock.warnings, capture.warnings);
    series_.points.push_back(std::move(point));
  }

  void take_no_clock(const SeriesRow& row, const CaptureResult& capture) {
    const auto& idle = capture.idle_channels;
    if (idle.empty()) {
      return take_silence(row, series_.channel.has_value(),
                          series_.channel ? "the capture has no channel " +
                                                *series_.channel + "; it has " +
                                                joined(capture.channel_names)
                                          : "the capture has no channel");
    }
    const bool constant =
        std::all_of(idle.begin(), idle.end(), [](const IdleChannel& c) {
          return c.edges == 0 && c.level_known && c.zero_width_pulses == 0 &&
                 c.never_turns.empty();
        });
    std::vector<std::string> names;
    for (const IdleChannel& c : idle) names.push_back(c.name);
    take_silence(row, constant,
                 constant ? joined(names) + " is constant"
                          : joined(names) + " has edges, but no clock",
                 capture.duration.value());
  }

  const CommandLine& line_;
  ThreadPool& pool_;
  Record& record_;
  MeasuredSeries series_;
  std::vector<std::string> channels_;  // of points, with repetitions
};

}  // namespace

std::string path_beside(const std::string& series, const std::string& path) {
  const std::size_t slash = series.rfind('/');
  if (path.starts_with('/') || slash == std::string::npos) return path;
  return series.substr(0, slash + 1) + path;
}

Result<MeasuredSeries> measure_series(const std::string& path,
                                      const std::vector<SeriesRow>& rows,
                                      const CommandLine& line, ThreadPool& pool,
                                      Record& record) {
  SeriesMeasurement measurement(path, line, pool, record);
  for (const SeriesRow& row : rows) measurement.measure(row);
  return measurement.finish();
}

}  // namespace clockassay
