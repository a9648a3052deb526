// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/series_reading.h"

#include <algorithm>
#include <utility>

#include "app/capture_reading.h"
#include "app/delivery.h"
#include "app/input_source.h"
#include "clockassay/analysis/stored_result.h"
#include "clockassay/base/number_text.h"

namespace clockassay {
namespace {

constexpr double kPpm = 1e-6;

std::string seconds(double value) {
  return number_text(value, 6) + " s";
}

std::vector<PointWarning> point_warnings(const std::vector<Warning>& channel,
                                         const std::vector<Warning>& capture) {
  std::vector<PointWarning> out;
  for (const auto* list : {&channel, &capture}) {
    for (const Warning& w : *list) {
      // Of the series as a whole, which says it once.
      if (w.code == WarningCode::kTimebaseAssumed) continue;
      const WarningInfo& info = warning_info(w.code);
      out.push_back(
          {info.name, w.message, info.forbids_pass, info.forbids_fail});
    }
  }
  return out;
}

std::string joined(const std::vector<std::string>& names) {
  std::string out;
  for (const std::string& name : names) {
    out += (out.empty() ? "\"" : ", \"") + name + '"';
  }
  return out;
}

Error several_clocks(const std::vector<std::string>& names) {
  return {ErrorCode::kUsage,
          "found clocks on " + joined(names) + ", expected one",
          "say which with --channel"};
}

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

Timebase timebase_of(const ReadingArguments& reading) {
  return reading.timebase.value_or(Timebase{});
}

// An indicated frequency by a timebase that is stated now.
void apply_timebase(const Timebase& timebase, Hertz indicated,
                    TemperaturePoint& point) {
  const double rate = 1.0 + timebase.offset.value() * kPpm;
  point.timebase = timebase;
  point.frequency = Hertz(indicated.value() * rate);
  point.half_width = Ppm(timebase.tolerance.value() / rate);
}

// What is told of a budget, and of what was measured by.
void take_budget(const Budget& budget, const Timebase& timebase,
                 TemperaturePoint& point) {
  point.frequency = budget.frequency.value;
  point.u = Ppm(budget.error_ppm.normal_sigma);
  point.half_width = Ppm(budget.error_ppm.rectangle_half_width);
  point.timebase = timebase;
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

  void take_silence(const SeriesRow& row, bool constant, std::string finding) {
    if (!line_.drift.tolerance) {
      // Nobody asked whether it runs: then it is no data of a curve.
      return lose(row, {ErrorCode::kBadData, std::move(finding),
                        "measure it with clockassay measure --explain",
                        path_beside(series_.path, *row.capture)});
    }
    series_.silent.push_back({place_of(row), constant, std::move(finding)});
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
                          : joined(names) + " has edges, but no clock");
  }

  const CommandLine& line_;
  ThreadPool& pool_;
  Record& record_;
  MeasuredSeries series_;
  std::vector<std::string> channels_;  // of points, with repetitions
};

// The one channel that carries a clock in any window, or that was asked for.
Result<const WindowedChannel*> clock_of(const CutCapture& cut,
                                        const std::string& path) {
  std::vector<const WindowedChannel*> clocks;
  std::vector<std::string> names;
  for (const WindowedChannel& c : cut.result.channels) {
    const bool runs = std::any_of(c.windows.begin(), c.windows.end(),
                                  [](const auto& w) { return w.has_value(); });
    if (!runs) continue;
    clocks.push_back(&c);
    names.push_back(c.name);
  }
  if (clocks.size() == 1) return clocks.front();
  Error error = clocks.empty()
                    ? Error{ErrorCode::kBadData,
                            "found no clock in any window, expected one",
                            "see what clockassay measure says of the capture"}
                    : several_clocks(names);
  error.path = path;
  return tl::unexpected(std::move(error));
}

/// One long capture on its way into points.
class LongCapture {
 public:
  LongCapture(const TemperatureLog& log, const CommandLine& line,
              const CutCapture& cut, Record& record)
      : log_(log), line_(line), cut_(cut), record_(record) {
    series_.path = line.reading.captures.front();
  }

  MeasuredSeries take(const WindowedChannel& clock) {
    series_.channel = clock.name;
    for (std::size_t i = 0; i < cut_.windows.size(); ++i) {
      if (clock.windows[i]) {
        take_stretches(*clock.windows[i]);
      } else {
        take_silence(clock, cut_.windows[i]);
      }
    }
    state_sweeps();
    say_what_is_left_out();
    return std::move(series_);
  }

 private:
  PointPlace place_in(const TimeWindow& window,
                      const WindowTemperature& temperature) {
    PointPlace place;
    place.window = window;
    place.temperature_c = temperature.mean_c;
    place.u_temperature_c = temperature.u_c;
    return place;
  }

  // A clock that changed within a window gives a point for each part.
  void take_stretches(const ChannelResult& clock) {
    for (const StretchRecord& stretch : clock.stretches) {
      const TimeWindow window{stretch.from.value(), stretch.to.value()};
      if (!(window.from_s < window.to_s)) continue;
      const auto at = temperature_over(log_, window.from_s, window.to_s);
      if (!at) continue;  // an edge before the log begins
      if (!stretch.budget) {
        lose(window, *at);
        continue;
      }
      TemperaturePoint point;
      point.place = place_in(window, *at);
      const auto& reference = line_.reading.reference;
      Timebase timebase = timebase_of(line_.reading);
      if (reference) timebase.kind = TimebaseKind::kReference;
      take_budget(*stretch.budget, timebase, point);
      point.warnings =
          point_warnings(clock.warnings, cut_.result.capture.warnings);
      series_.points.push_back(std::move(point));
      temperatures_.push_back(*at);
    }
  }

  void lose(const TimeWindow& window, const WindowTemperature& at) {
    add_error(record_,
              {ErrorCode::kBadData,
               "from " + seconds(window.from_s) + " to " +
                   seconds(window.to_s) + " too few edges for a frequency",
               "see what clockassay measure says of it with --from and --span",
               series_.path});
    series_.lost.push_back(place_in(window, at));
  }

  void take_silence(const WindowedChannel& clock, const TimeWindow& window) {
    const auto at = temperature_over(log_, window.from_s, window.to_s);
    if (!at) return;
    if (!line_.drift.tolerance) return lose(window, *at);
    series_.silent.push_back({place_in(window, *at), clock.level_known,
                              "from " + seconds(window.from_s) + " to " +
                                  seconds(window.to_s) + " " + clock.name +
                                  " stands still"});
  }

  void state_sweeps() {
    const std::vector<Sweep> sweeps = sweeps_of(temperatures_);
    for (std::size_t i = 0; i < sweeps.size(); ++i) {
      series_.points[i].place.sweep = sweeps[i];
    }
    double up = 0.0;
    double down = 0.0;
    for (std::size_t i = 1; i < temperatures_.size(); ++i) {
      const double step = temperatures_[i].mean_c - temperatures_[i - 1].mean_c;
      (step > 0.0 ? up : down) += std::abs(step);
    }
    // Chosen: a tenth the other way is no way back.
    if (std::min(up, down) < 0.1 * std::max(up, down)) {
      series_.caveats.push_back(
          "The temperature went one way only: a thermometer that lags behind "
          "the crystal moves the curve along the temperatures, and nothing "
          "here shows it. Let it come back within the same capture.");
    }
  }

  void say_what_is_left_out() {
    const double before = cut_.windows.front().from_s - cut_.from_s;
    const double after = cut_.to_s - cut_.windows.back().to_s;
    if (!(before > 0.0 || after > 0.0)) return;
    series_.caveats.push_back("The temperature log covers " +
                              seconds(cut_.windows.front().from_s) + " to " +
                              seconds(cut_.windows.back().to_s) + " of " +
                              seconds(cut_.from_s) + " to " +
                              seconds(cut_.to_s) + ": the rest is left out.");
  }

  const TemperatureLog& log_;
  const CommandLine& line_;
  const CutCapture& cut_;
  Record& record_;
  MeasuredSeries series_;
  std::vector<WindowTemperature> temperatures_;  // of the points
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

Result<MeasuredSeries> measure_long_capture(const TemperatureLog& log,
                                            const CommandLine& line,
                                            ThreadPool& pool, Record& record) {
  const std::string& path = line.reading.captures.front();
  Understanding understood;
  const ChannelChoice choice{line.reading.channels, false};
  auto cut = read_and_cut(path, line.reading, choice, log, pool, understood);
  if (!cut) {
    if (line.reading.explain && !understood.facts.empty()) {
      record.refused.push_back({path, std::move(understood)});
    }
    return tl::unexpected(cut.error());
  }
  if (cut->windows.empty()) {
    Error error{ErrorCode::kBadData,
                "found a temperature log of " +
                    seconds(log.readings.front().time_s) + " to " +
                    seconds(log.readings.back().time_s) +
                    ", expected one over some of the capture, " +
                    seconds(cut->from_s) + " to " + seconds(cut->to_s),
                "time_s counts from the first stamp of the capture"};
    error.path = path;
    return tl::unexpected(std::move(error));
  }
  const auto clock = clock_of(*cut, path);
  if (!clock) return tl::unexpected(clock.error());
  MeasuredSeries series = LongCapture(log, line, *cut, record).take(**clock);
  record.captures.push_back(std::move(cut->result.capture));
  return series;
}

}  // namespace clockassay
