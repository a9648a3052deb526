// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/sampling_facts.h"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <string>

namespace clockassay {
namespace {

std::string text_reason(const Capture& capture) {
  if (capture.format == "vcd") return "one step of the timescale";
  if (capture.grid.text_resolution_ticks == capture.grid.float_ticks) {
    return "the last bit of the floating point number that the largest time "
           "was";
  }
  return capture.grid.text_resolution_ticks == 1
             ? "the last decimal of the times as they are written"
             : "the last digit that the largest time has";
}

}  // namespace

TickScale tick_scale(const Capture& capture, const SamplingWindow& window) {
  TickScale scale{capture.grid.tick_s, window.window_ticks, {}};
  if (window.sample_interval_s &&
      window.source != SampleIntervalSource::kInferred) {
    scale.sample_ticks = divide(*window.sample_interval_s, capture.grid.tick_s);
  }
  return scale;
}

void describe_sampling(const Capture& capture, const SamplingWindow& window,
                       CaptureResult& result) {
  const double tick_s = capture.grid.tick_s.to_double();
  result.text_resolution =
      Seconds(static_cast<double>(capture.grid.text_resolution_ticks) * tick_s);
  result.text_resolution_reason = text_reason(capture);
  if (window.sample_interval_s) {
    result.sample_interval = Seconds(window.sample_interval_s->to_double());
    result.sample_rate_hz = divide(Rational(1), *window.sample_interval_s);
  }
  for (const Rational& interval : window.possible_intervals_s) {
    if (const auto rate = divide(Rational(1), interval)) {
      result.possible_rates_hz.push_back(*rate);
    }
  }
  result.sample_interval_source = sample_interval_source_name(window.source);
  result.sample_interval_reason = window.interval_reason;
  result.window = Seconds(window.window_ticks.to_double() * tick_s);
  result.window_reason = window.window_reason;
}

std::optional<Rational> own_sample_rate(const ChannelRecord& record,
                                        const TimeGrid& grid,
                                        const Rational& rate_hz) {
  const auto step_s =
      multiply(Rational(record.longest_step.count()), grid.tick_s);
  const auto rows = step_s ? multiply(*step_s, rate_hz) : std::nullopt;
  if (!rows) return rate_hz;
  // The step is rounded to ticks.
  const double whole = std::max(1.0, std::round(rows->to_double()));
  return divide(rate_hz, Rational(static_cast<std::int64_t>(whole)));
}

}  // namespace clockassay
