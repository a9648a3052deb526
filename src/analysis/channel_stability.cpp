// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/channel_stability.h"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <string>
#include <utility>

#include "analysis/channel_spectrum.h"
#include "analysis/reference_channel.h"
#include "clockassay/base/prefixed_number.h"
#include "clockassay/estimate/edge_line.h"
#include "clockassay/estimate/edge_sums.h"
#include "clockassay/estimate/error_course.h"
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

/// A reference, as all of a capture has it.
std::optional<CommonViews> common_in_all(const Setting& s,
                                         const EdgeView& view) {
  if (s.reference == nullptr) return std::nullopt;
  return CommonViews{
      {view, s.scale, s.origin},
      {s.reference->view, s.reference->scale, s.reference->origin}};
}

}  // namespace

std::optional<EdgesWithLine> edges_with_line(const Setting& s,
                                             const ClockEstimate& clock,
                                             const EdgeView& view,
                                             bool interpolated,
                                             const ParallelFor& parallel_for) {
  auto sums = sum_edges(view, parallel_for);
  if (!sums) return std::nullopt;
  const auto line = fit_line(sums->rise, sums->fall);
  if (!line) return std::nullopt;
  PhaseScale scale{clock.period_ticks, s.scale.tick_s.to_double(), {}};
  if (!interpolated) scale.window_ticks = s.scale.window_ticks.to_double();
  return EdgesWithLine{view, *std::move(sums), *line, scale};
}

Seconds line_rms(const EdgesWithLine& edges) {
  return Seconds(std::sqrt(edges.line.rise_residual_squares /
                           static_cast<double>(edges.sums.rise.n)) *
                 edges.scale.tick_s);
}

Stability stability_of(const EdgesWithLine& edges,
                       const std::optional<CommonViews>& common,
                       const StabilityOptions& options,
                       const ParallelFor& parallel_for) {
  if (common) {
    return describe_stability_against(*common, edges.sums, edges.line,
                                      edges.scale, options, parallel_for);
  }
  const TimeIntervalErrors errors(edges.view, edges.sums, edges.line.slope,
                                  edges.line.rise_intercept);
  return describe_stability(errors, edges.scale, options, parallel_for);
}

OscillatorCharacter character_of(const Setting& s, const EdgesWithLine& edges,
                                 const Stability& stability,
                                 const TieSpectrum* spectrum, Seconds period,
                                 Seconds tie_rms) {
  const double tick_s = edges.scale.tick_s;
  CharacterInput input{
      &stability, spectrum, edges.cycles(),
      period,     tie_rms,  Seconds(s.scale.window_ticks.to_double() * tick_s)};
  const auto& against = stability.reference;
  if (against && against->tie_rms) {
    // How the samples of both meet it is not known, but the window is.
    input.tie_rms = *against->tie_rms;
    input.window = against->window;
  } else if (s.scale.sample_ticks) {
    input.sample_interval = Seconds(s.scale.sample_ticks->to_double() * tick_s);
  }
  return describe_character(input);
}

namespace {

/// The error of the last stretch over time since the first stamp.
std::vector<ShownError> shown_errors(const Setting& s,
                                     const EdgesWithLine& edges,
                                     const ParallelFor& parallel_for) {
  const TimeIntervalErrors errors(edges.view, edges.sums, edges.line.slope,
                                  edges.line.rise_intercept);
  const double tick_s = edges.scale.tick_s;
  const double period = edges.scale.period_ticks * tick_s;
  const double from =
      since_first_stamp(s, Ticks(rising_ends(edges.view)->first.tick)).value();
  std::vector<ShownError> shown;
  for (const ErrorPart& part :
       course_of(errors, kMostErrorParts, parallel_for)) {
    const auto first = static_cast<double>(part.first);
    const auto last = static_cast<double>(part.first + part.count - 1);
    shown.push_back(
        {Seconds(from + first * period), Seconds(from + last * period),
         Seconds(part.least * tick_s), Seconds(part.most * tick_s)});
  }
  return shown;
}

}  // namespace

std::optional<ChannelPictures> pictures_of(const Setting& s,
                                           const AnalysedStretch& last,
                                           bool interpolated,
                                           const ParallelFor& parallel_for,
                                           const ChannelResult& result) {
  if (!last.estimate) return std::nullopt;
  const auto edges = edges_with_line(
      s, *last.estimate, EdgeView(*last.stretch, last.first, last.last),
      interpolated, parallel_for);
  if (!edges) return std::nullopt;
  ChannelPictures pictures;
  pictures.errors = shown_errors(s, *edges, parallel_for);
  pictures.periods = result.periods
                         ? result.periods
                         : count_periods(edges->view, edges->sums,
                                         length_step(s.scale, interpolated),
                                         edges->scale.tick_s, parallel_for);
  if (result.stability) {
    pictures.stability = *result.stability;
    // Whatever tau were chosen for the table.
    pictures.stability.points = result.stability->octaves;
  } else {
    pictures.stability =
        stability_of(*edges, common_in_all(s, edges->view), {}, parallel_for);
  }
  if (result.spectrum) {
    pictures.spectrum = result.spectrum;
    return pictures;
  }
  auto spectrum =
      spectrum_of(s, *last.estimate, edges->view, interpolated, parallel_for);
  if (spectrum) {
    pictures.spectrum = *std::move(spectrum);
  } else {
    pictures.no_spectrum = spectrum.error().message;
  }
  return pictures;
}

void describe_stability_of(const Setting& s, const AnalysedStretch& last,
                           bool interpolated, const ParallelFor& parallel_for,
                           ChannelResult& result) {
  if (!s.options.stability || !last.estimate) return;
  const auto edges = edges_with_line(
      s, *last.estimate, EdgeView(*last.stretch, last.first, last.last),
      interpolated, parallel_for);
  if (!edges) return;
  result.stability = stability_of(*edges, common_in_all(s, edges->view),
                                  *s.options.stability, parallel_for);
  result.half_periods =
      describe_half_periods(edges->view, edges->sums, edges->line.slope,
                            edges->scale.tick_s, parallel_for);
  if (result.half_periods) result.half_periods->edge_skew = s.options.edge_skew;
  result.periods = count_periods(edges->view, edges->sums,
                                 length_step(s.scale, interpolated),
                                 edges->scale.tick_s, parallel_for);
  const TieSpectrum* spectrum = result.spectrum ? &*result.spectrum : nullptr;
  result.character = character_of(
      s, *edges, *result.stability, spectrum, last.estimate->period,
      last.estimate->jitter.tie_rms.value_or(Seconds()));
  if (spectrum != nullptr) result.spread = spectrum->spread;
  if (!result.stability->left_out.empty()) {
    result.warnings.push_back(left_out(*result.stability));
  }
}

}  // namespace clockassay
