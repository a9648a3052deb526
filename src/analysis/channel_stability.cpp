// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/channel_stability.h"

#include <array>
#include <cstdio>
#include <string>

#include "clockassay/estimate/edge_line.h"
#include "clockassay/estimate/edge_sums.h"
#include "clockassay/estimate/oscillator_character.h"

namespace clockassay {
namespace {

std::string seconds_text(Seconds s) {
  std::array<char, 32> buffer;
  std::snprintf(buffer.data(), buffer.size(), "%.4g s", s.value());
  return buffer.data();
}

Warning left_out(const Stability& stability) {
  std::string list;
  for (const Seconds tau : stability.left_out) {
    list += (list.empty() ? "" : ", ") + seconds_text(tau);
  }
  return {WarningCode::kTauLeftOut,
          "no stability at tau = " + list +
              ": it takes half a period at least, and " +
              seconds_text(stability.longest) +
              ", a quarter of what is analysed, at most"};
}

}  // namespace

void describe_stability_of(const Setting& s, const AnalysedStretch& last,
                           bool interpolated, const ParallelFor& parallel_for,
                           ChannelResult& result) {
  if (!s.options.stability || !last.estimate) return;
  const EdgeView view(*last.stretch, last.first, last.last);
  const auto sums = sum_edges(view, parallel_for);
  if (!sums) return;
  const auto line = fit_line(sums->rise, sums->fall);
  if (!line) return;
  const TimeIntervalErrors errors(view, *sums, line->slope,
                                  line->rise_intercept);
  PhaseScale scale{last.estimate->period_ticks, s.scale.tick_s.to_double(), {}};
  if (!interpolated) scale.window_ticks = s.scale.window_ticks.to_double();
  result.stability =
      describe_stability(errors, scale, *s.options.stability, parallel_for);
  result.half_periods = describe_half_periods(view, *sums, line->slope,
                                              scale.tick_s, parallel_for);
  // Of tau that were chosen none may be long enough.
  const Stability octaves =
      s.options.stability->taus.empty()
          ? *result.stability
          : describe_stability(errors, scale, {}, parallel_for);
  result.character = describe_character(
      {&octaves, result.spectrum ? &*result.spectrum : nullptr, errors.count(),
       last.estimate->period, last.estimate->jitter.tie_rms.value_or(Seconds()),
       Seconds(s.scale.window_ticks.to_double() * scale.tick_s)});
  if (!result.stability->left_out.empty()) {
    result.warnings.push_back(left_out(*result.stability));
  }
}

}  // namespace clockassay
