// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/channel_spectrum.h"

#include <utility>

#include "clockassay/estimate/student_t.h"
#include "clockassay/estimate/tie_spectrum.h"

namespace clockassay {

void add_spectrum(const Setting& s, const AnalysedStretch& last,
                  bool interpolated, const ParallelFor& parallel_for,
                  ChannelResult& result) {
  if (!s.options.spectrum) return;
  if (!last.estimate) {
    result.no_spectrum = "no clock found";
    return;
  }
  const ClockEstimate& clock = *last.estimate;
  TieSpectrumInput input;
  input.period_ticks = clock.period_ticks;
  input.period_uncertainty_ticks =
      clock.frequency.half_width / clock.frequency.frequency *
      clock.period_ticks / student_t_two_sided(kHalfWidthCoverage, {});
  input.tick_s = s.scale.tick_s.to_double();
  input.window_ticks = s.scale.window_ticks.to_double();
  input.interpolated = interpolated;
  if (s.scale.sample_ticks) {
    input.sample_ticks = s.scale.sample_ticks->to_double();
  }
  auto spectrum = tie_spectrum(EdgeView(*last.stretch, last.first, last.last),
                               input, {}, parallel_for);
  if (spectrum) {
    result.spectrum = *std::move(spectrum);
  } else {
    result.no_spectrum = spectrum.error().message;
  }
}

}  // namespace clockassay
