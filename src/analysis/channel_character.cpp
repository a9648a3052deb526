// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/channel_character.h"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <numbers>
#include <string>
#include <utility>

#include "analysis/channel_names_asked.h"
#include "analysis/channel_spectrum.h"
#include "analysis/channel_stability.h"
#include "analysis/reference_channel.h"
#include "verdict/checks.h"

namespace clockassay {
namespace {

/// Chosen: no cycle of them is thinned out, and what they take is a fraction of
/// a second.
constexpr std::int64_t kMostCycles = std::int64_t{1} << 20;

/// By its figures alone, now.
bool passes(const FrequencyExpected& expected, const Budget& budget) {
  const MeasuredError error =
      measured_error(budget, expected.frequency_hz.to_double());
  return is_usable(error) &&
         decide(error.ppm, error.expanded_ppm,
                expected.make->low_ppm.to_double(),
                expected.make->high_ppm.to_double()) == Decision::kPass;
}

/// Within which an edge is known, and one of the reference beside it.
double windows_s(const Setting& s) {
  const auto window = [](const TickScale& scale) {
    return scale.window_ticks.to_double() * scale.tick_s.to_double();
  };
  return window(s.scale) +
         (s.reference != nullptr ? window(s.reference->scale) : 0.0);
}

/// Neighbouring edges move together, and further than sampling makes them: a
/// modulation may be there that the mean does not show. Edges that jitter by
/// themselves differ from their neighbours by the square root of two more than
/// from the line; a sampler alone moves them by 0.29 windows rms. Both factors
/// chosen.
bool may_be_modulated(const Setting& s, const Jitter& jitter) {
  constexpr double kTogether = 4.0;
  constexpr double kBeyondSampling = 0.4;  // windows
  if (!jitter.tie_rms || !jitter.period_rms) return false;
  const double tie = jitter.tie_rms->value();
  return tie > kBeyondSampling * windows_s(s) &&
         tie > kTogether * jitter.period_rms->value() / std::numbers::sqrt2;
}

/// Somebody will ask why, or should.
bool is_to_explain(const Setting& s, const ChannelRecord& record,
                   const ChannelResult& result) {
  const bool in_doubt =
      forbids_pass(result.warnings) || may_be_modulated(s, result.jitter);
  return std::any_of(s.options.expected.begin(), s.options.expected.end(),
                     [&](const FrequencyExpected& e) {
                       const bool is_of_channel =
                           !e.channel ||
                           is_meant(*e.channel, record.name, record.asked);
                       return e.make && is_of_channel &&
                              (in_doubt || !passes(e, *result.budget));
                     });
}

/// The last kMostCycles of them, as far as there are more.
EdgeView latest_cycles(const AnalysedStretch& last) {
  const double ticks =
      static_cast<double>(kMostCycles) * last.estimate->period_ticks;
  Ticks from = last.first;
  if (ticks < static_cast<double>((last.last - last.first).count())) {
    from = last.last - Ticks(std::llround(ticks));
  }
  return {*last.stretch, from, last.last};
}

/// Edges that meet the sampler at few of its phases, of the clock or of the
/// reference, err in step, and a slow sawtooth of them looks like a frequency
/// that wanders. So does a beat in a capture too short for a spectrum. Phases
/// and their means lie within the windows w, so that a second difference is 2 w
/// at most, and the modified Allan deviation of it sqrt(2) w / tau.
bool may_be_sampling(const Setting& s, const Stability& stability) {
  const auto longest =
      std::find_if(stability.octaves.rbegin(), stability.octaves.rend(),
                   [](const StabilityPoint& p) { return p.mdev && p.noise; });
  return longest != stability.octaves.rend() &&
         *longest->mdev <
             std::numbers::sqrt2 * windows_s(s) / longest->tau.value();
}

/// What looks like an RC oscillator, and need not be one.
void doubt_wander(const Setting& s, const ClockEstimate& clock,
                  const Stability& stability, bool has_spectrum,
                  OscillatorCharacter& character) {
  if (character.kind != CharacterKind::kRcLike) return;
  const bool in_step = clock.few_phases || (s.reference != nullptr &&
                                            s.reference->estimate.few_phases);
  if ((has_spectrum && !in_step) || !may_be_sampling(s, stability)) return;
  character.kind = CharacterKind::kCannotTell;
  character.evidence.emplace_back(
      in_step ? "edges meet the sampler at few of its phases, and it may make "
                "all of that: another sample rate tells"
              : "sampling may make all of that in so few cycles: a longer "
                "capture tells");
}

}  // namespace

void tell_character(const Setting& s, const ChannelRecord& record,
                    const AnalysedStretch& last,
                    const ParallelFor& parallel_for, ChannelResult& result) {
  if (s.is_reference || result.character) return;
  if (!result.budget || !last.estimate) return;
  if (!is_to_explain(s, record, result)) return;
  EdgeView view = latest_cycles(last);
  std::optional<CommonViews> common;
  if (s.reference != nullptr) {
    common = common_with_reference(s, view);
    if (!common) return;
    view = common->clock.view;
  }
  const auto edges = edges_with_line(s, *last.estimate, view,
                                     record.interpolated, parallel_for);
  if (!edges) return;
  const Stability stability = stability_of(*edges, common, {}, parallel_for);
  const auto spectrum =
      spectrum_of(s, *last.estimate, view, record.interpolated, parallel_for);
  result.character =
      character_of(s, *edges, stability, spectrum ? &*spectrum : nullptr,
                   last.estimate->period, line_rms(*edges));
  if (spectrum) result.spread = spectrum->spread;
  doubt_wander(s, *last.estimate, stability, spectrum.has_value(),
               *result.character);
  if (view.from() > last.first) {
    result.character->evidence.push_back("only the last " +
                                         std::to_string(edges->cycles()) +
                                         " cycles were looked at for this");
  }
}

}  // namespace clockassay
