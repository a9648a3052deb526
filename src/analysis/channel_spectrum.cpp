// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/channel_spectrum.h"

#include <utility>

#include "clockassay/estimate/student_t.h"

namespace clockassay {

Result<TieSpectrum> spectrum_of(const Setting& s, const ClockEstimate& clock,
                                const EdgeView& view, bool interpolated,
                                const ParallelFor& parallel_for) {
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
  return tie_spectrum(view, input, {}, parallel_for);
}

void add_spectrum(const Setting& s, const AnalysedStretch& last,
                  bool interpolated, const ParallelFor& parallel_for,
                  ChannelResult& result) {
  if (!s.options.spectrum) return;
  if (!last.estimate) {
    result.no_spectrum = "no clock found";
    return;
  }
  auto spectrum = spectrum_of(s, *last.estimate,
                              EdgeView(*last.stretch, last.first, last.last),
                              interpolated, parallel_for);
  if (spectrum) {
    result.spectrum = *std::move(spectrum);
  } else {
    result.no_spectrum = spectrum.error().message;
  }
}

}  // namespace clockassay
