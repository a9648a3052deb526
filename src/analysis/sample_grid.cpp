// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/sample_grid.h"

#include <algorithm>
#include <utility>

#include "analysis/sampling_facts.h"

namespace clockassay {
namespace {

/// The samples, where stamps can be put back on them.
std::optional<SampleNumbers> samples_of(const Capture& capture,
                                        const SamplingWindow& window) {
  const auto ticks = tick_scale(capture, window).sample_ticks;
  if (!ticks || *ticks == window.window_ticks ||
      !window.possible_intervals_s.empty()) {
    return std::nullopt;
  }
  const bool contradicted = std::any_of(
      window.warnings.begin(), window.warnings.end(), [](const Warning& w) {
        return w.code == WarningCode::kSamplingContradicted;
      });
  if (contradicted) return std::nullopt;
  const SampleNumbers samples{*ticks, capture.first_stamp,
                              capture.grid.text_resolution_ticks};
  if (!tells_samples(samples)) return std::nullopt;
  return samples;
}

}  // namespace

std::optional<ChannelsOnSamples> put_on_samples(const Capture& capture,
                                                SamplingWindow& window) {
  const auto samples = samples_of(capture, window);
  if (!samples) return std::nullopt;
  ChannelsOnSamples out{*samples, *window.sample_interval_s, {}, {}};
  for (const ChannelRecord& record : capture.channels) {
    auto snapped = record.interpolated
                       ? std::optional(record)
                       : in_samples(record, *samples, out.arena);
    if (!snapped) return std::nullopt;
    out.channels.push_back(std::move(*snapped));
  }
  window.window_ticks = samples->sample_ticks;
  window.window_reason =
      "one sampling interval: the times are put back on the samples they were "
      "written from";
  std::erase_if(window.warnings, [](const Warning& w) {
    return w.code == WarningCode::kTextRounds;
  });
  return out;
}

Setting in_samples(const Setting& s, const ChannelsOnSamples& on_samples) {
  Setting own = s;
  own.scale = {on_samples.interval_s, Rational(1), Rational(1)};
  own.from = nearest_sample(on_samples.samples, s.from);
  own.to = nearest_sample(on_samples.samples, s.to);
  own.origin = Ticks(0);
  return own;
}

}  // namespace clockassay
