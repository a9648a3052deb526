// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/long_capture.h"

#include <algorithm>
#include <utility>

#include "app/capture_reading.h"
#include "app/delivery.h"
#include "app/series_points.h"
#include "clockassay/base/number_text.h"

namespace clockassay {
namespace {

std::string seconds(double value) {
  return number_text(value, 6) + " s";
}

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
    gaps_ = log_gaps(log);
  }

  MeasuredSeries take(const WindowedChannel& clock) {
    series_.channel = clock.name;
    for (std::size_t i = 0; i < cut_.windows.size(); ++i) {
      if (lies_in_gap(cut_.windows[i])) continue;
      if (clock.windows[i]) {
        take_stretches(*clock.windows[i]);
      } else {
        take_silence(clock, cut_.windows[i]);
      }
    }
    state_sweeps();
    state_thermometer();
    say_gaps();
    say_bridges();
    say_what_is_left_out();
    return std::move(series_);
  }

 private:
  bool lies_in_gap(const TimeWindow& window) const {
    return std::any_of(
        gaps_.begin(), gaps_.end(),
        [&window](const TimeWindow& gap) { return overlap(gap, window); });
  }

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
                                  " stands still",
                              window.to_s - window.from_s});
  }

  void state_sweeps() {
    take_sweeps(sweeps_of(temperatures_));
    double up = 0.0;
    double down = 0.0;
    for (std::size_t i = 1; i < temperatures_.size(); ++i) {
      const double step = temperatures_[i].mean_c - temperatures_[i - 1].mean_c;
      (step > 0.0 ? up : down) += std::abs(step);
    }
    // Chosen: a tenth the other way is no way back.
    if (std::min(up, down) < 0.1 * std::max(up, down)) {
      series_.one_way = true;
      series_.caveats.push_back(
          "The temperature went one way only: a thermometer that lags behind "
          "the crystal moves the curve along the temperatures, and nothing "
          "here shows it. Let it come back within the same capture.");
    }
  }

  // A window in which the temperature turns belongs to neither way.
  void take_sweeps(const std::vector<Sweep>& sweeps) {
    const bool any = std::any_of(sweeps.begin(), sweeps.end(), [](Sweep s) {
      return s != Sweep::kNotStated;
    });
    if (!any) return;
    std::vector<TemperaturePoint> kept;
    for (std::size_t i = 0; i < sweeps.size(); ++i) {
      if (sweeps[i] == Sweep::kNotStated) continue;
      kept.push_back(std::move(series_.points[i]));
      kept.back().place.sweep = sweeps[i];
    }
    const std::size_t turns = sweeps.size() - kept.size();
    series_.points = std::move(kept);
    if (turns == 0) return;
    series_.caveats.push_back(
        "Windows in which the temperature turned are left out, for they belong "
        "to neither way: " +
        std::to_string(turns) + " of " + std::to_string(sweeps.size()) + ".");
  }

  void say_gaps() {
    for (const TimeWindow& gap : gaps_) {
      const bool cut = std::any_of(
          cut_.windows.begin(), cut_.windows.end(),
          [&gap](const TimeWindow& window) { return overlap(gap, window); });
      if (!cut) continue;
      series_.caveats.push_back("The temperature log has no reading between " +
                                seconds(gap.from_s) + " and " +
                                seconds(gap.to_s) +
                                ", far longer than between others: what was "
                                "recorded then is left out.");
    }
  }

  // Of those within the capture.
  void say_bridges() {
    auto bridges = log_bridges(log_);
    std::erase_if(bridges, [this](const TimeWindow& bridge) {
      return !overlap(bridge, {cut_.from_s, cut_.to_s});
    });
    if (bridges.empty()) return;
    series_.caveats.push_back(
        "In the temperature log one or two readings are missing in " +
        std::to_string(bridges.size()) +
        (bridges.size() == 1 ? " place" : " places") + ", the first after " +
        seconds(bridges.front().from_s) + ": straight lines stand for them.");
  }

  void state_thermometer() {
    if (!log_.u_stated) return;
    double largest = 0.0;
    for (const TemperatureReading& r : log_.readings) {
      largest = std::max(largest, r.u_temperature_c);
    }
    if (largest > 0.0) series_.log_u_k = largest;
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
  std::vector<TimeWindow> gaps_;                 // of the log
};

}  // namespace

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
