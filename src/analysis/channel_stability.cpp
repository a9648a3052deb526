// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/channel_stability.h"

#include <algorithm>
#include <cstdint>
#include <string>

#include "analysis/reference_channel.h"
#include "clockassay/base/prefixed_number.h"
#include "clockassay/estimate/edge_line.h"
#include "clockassay/estimate/edge_sums.h"
#include "clockassay/estimate/oscillator_character.h"
#include "clockassay/estimate/reference_stability.h"

namespace clockassay {
namespace {

std::string seconds_text(Seconds s) {
  return prefixed_number(s.value(), 4, "s");
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

/// In the time of the reference, if there is one.
Stability stability_of(const Setting& s, const EdgeView& view,
                       const EdgeSums& sums, const LineFit& line,
                       const PhaseScale& scale,
                       const ParallelFor& parallel_for) {
  const StabilityOptions& options = *s.options.stability;
  if (s.reference != nullptr) {
    const CommonViews views{
        {view, s.scale, s.origin},
        {s.reference->view, s.reference->scale, s.reference->origin}};
    return describe_stability_against(views, sums, line, scale, options,
                                      parallel_for);
  }
  const TimeIntervalErrors errors(view, sums, line.slope, line.rise_intercept);
  return describe_stability(errors, scale, options, parallel_for);
}

/// What lengths between edges come in. Where samples were further apart than
/// stated, the window is a multiple of them, and the text's own step may be in
/// it, too.
Rational length_step(const TickScale& scale, bool interpolated) {
  if (interpolated) return Rational(1);
  if (!scale.sample_ticks) return scale.window_ticks;
  const auto ratio = divide(scale.window_ticks, *scale.sample_ticks);
  if (!ratio) return *scale.sample_ticks;
  const auto samples = static_cast<std::int64_t>(ratio->num() / ratio->den());
  const auto step = multiply(*scale.sample_ticks,
                             Rational(std::max(samples, std::int64_t{1})));
  return step.value_or(*scale.sample_ticks);
}

/// In the time of the reference, where it has it: how the samples of both meet
/// it is not known, but the window is.
CharacterInput character_input(const Setting& s, const AnalysedStretch& last,
                               std::int64_t cycles,
                               const ChannelResult& result) {
  const double tick_s = s.scale.tick_s.to_double();
  CharacterInput input{&*result.stability,
                       result.spectrum ? &*result.spectrum : nullptr,
                       cycles,
                       last.estimate->period,
                       last.estimate->jitter.tie_rms.value_or(Seconds()),
                       Seconds(s.scale.window_ticks.to_double() * tick_s)};
  const auto& against = result.stability->reference;
  if (against && against->tie_rms) {
    input.tie_rms = *against->tie_rms;
    input.window = against->window;
  } else if (s.scale.sample_ticks) {
    input.sample_interval = Seconds(s.scale.sample_ticks->to_double() * tick_s);
  }
  return input;
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
  PhaseScale scale{last.estimate->period_ticks, s.scale.tick_s.to_double(), {}};
  if (!interpolated) scale.window_ticks = s.scale.window_ticks.to_double();
  result.stability = stability_of(s, view, *sums, *line, scale, parallel_for);
  result.half_periods = describe_half_periods(view, *sums, line->slope,
                                              scale.tick_s, parallel_for);
  if (result.half_periods) result.half_periods->edge_skew = s.options.edge_skew;
  result.periods =
      count_periods(view, *sums, length_step(s.scale, interpolated),
                    scale.tick_s, parallel_for);
  result.character = describe_character(character_input(
      s, last, sums->last_cycle - sums->first_cycle + 1, result));
  if (!result.stability->left_out.empty()) {
    result.warnings.push_back(left_out(*result.stability));
  }
}

}  // namespace clockassay
