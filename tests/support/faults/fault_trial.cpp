// SPDX-License-Identifier: GPL-3.0-or-later
#include "support/faults/fault_trial.h"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <utility>

#include "clockassay/analysis/analyse.h"
#include "clockassay/analysis/instrument.h"
#include "support/faults/fault_kinds.h"
#include "support/read_text.h"

namespace clockassay::faults {
namespace {

constexpr double kReferenceHz = 1e6;

std::vector<FaultKind> all_kinds() {
  std::vector<FaultKind> all;
  for (const auto& part :
       {healthy_kinds(), source_kinds(), path_kinds(), crystal_kinds(),
        loop_kinds(), sampling_kinds(), damage_kinds(), pin_kinds()}) {
    all.insert(all.end(), part.begin(), part.end());
  }
  return all;
}

const std::vector<FaultKind>& kinds() {
  static const std::vector<FaultKind> kAll = all_kinds();
  return kAll;
}

// Names differ, so their trials do: the first of FNV-1a's variants.
std::uint32_t hash_of(std::string_view text) {
  std::uint32_t hash = 2166136261u;
  for (const char c : text) {
    hash = (hash ^ static_cast<unsigned char>(c)) * 16777619u;
  }
  return hash;
}

/// Mean of what a pin shows, from when it counts.
double mean_frequency(const Scene& scene, const Signal& signal) {
  if (!signal.course) return signal.frequency_hz;
  constexpr int kSteps = 20'000;  // far below what any course does in a step
  const double from = scene.counts_from_s;
  const double step = (scene.instrument.duration_s - from) / kSteps;
  double sum = 0.0;
  for (int i = 0; i < kSteps; ++i)
    sum += signal.course(from + (i + 0.5) * step);
  return signal.frequency_hz * (1.0 + sum / kSteps);
}

void complete_truth(Scene& scene) {
  for (std::size_t i = 0; i < scene.clocks.size(); ++i) {
    ClockTruth& truth = scene.truth[i];
    const double expected = path_of(scene, i).frequency_hz.to_double();
    truth.error_ppm =
        1e6 *
        (mean_frequency(scene, scene.channels[i].signal) / expected - 1.0);
    if (truth.limit_ppm == 0.0) truth.limit_ppm = scene.clocks[i].make_ppm;
  }
}

std::string capture_text(Scene& scene, Draw& draw) {
  const Instrument& instrument = scene.instrument;
  const double rate =
      instrument.rate_hz * (1.0 + 1e-6 * instrument.timebase_ppm);
  auto last =
      static_cast<std::int64_t>(instrument.duration_s * instrument.rate_hz);
  if (instrument.reference) {
    DrivenChannel reference;
    reference.name = "ref";
    reference.signal.frequency_hz =
        kReferenceHz * (1.0 + 1e-6 * instrument.reference_ppm);
    reference.signal.jitter_s = instrument.jitter_s;
    scene.channels.push_back(reference);
  }
  std::vector<SampledChannel> channels;
  for (const DrivenChannel& c : scene.channels) {
    channels.push_back(
        sampled(changes_of(c.signal, instrument.duration_s, draw), rate, last));
    channels.back().name = c.name;
  }
  if (scene.damage) scene.damage(channels, last, draw);
  Writing writing;
  writing.csv = instrument.csv;
  writing.rate_hz = instrument.rate_hz * scene.written_over_rate;
  writing.states_rate = scene.states_rate;
  writing.last_sample = last;
  return written(channels, writing);
}

FaultTrial trial_of(Scene scene, Draw& draw) {
  complete_truth(scene);
  FaultTrial trial;
  trial.story = scene.story;
  trial.specification = specification_text(scene);
  trial.timebase = scene.instrument.timebase;
  trial.reference = scene.instrument.reference;
  trial.time_half_width_ppm = scene.instrument.half_width_ppm;
  trial.truth = scene.truth;
  trial.capture = capture_text(scene, draw);
  return trial;
}

template <class Make>
FaultTrial draw_trial(const Make& make, std::string_view name,
                      std::uint64_t seed) {
  std::seed_seq seeds{hash_of(name), static_cast<std::uint32_t>(seed),
                      static_cast<std::uint32_t>(seed >> 32)};
  Draw draw(seeds);
  // Most that is drawn at random does not fit; one in thousands always did.
  for (;;) {
    std::optional<Scene> scene = make(draw);
    if (!scene || !can_be_seen(*scene)) continue;
    FaultTrial trial = trial_of(*std::move(scene), draw);
    trial.kind = name;
    trial.seed = seed;
    return trial;
  }
}

std::optional<Scene> near_limit(Draw& draw, double place) {
  Wishes wishes;
  wishes.clocks = 1;
  auto scene = draw_scene(draw, wishes);
  if (!scene) return std::nullopt;
  const double limit = scene->clocks[0].make_ppm;
  const double open = scene->instrument.half_width_ppm;
  if (open > limit) return std::nullopt;  // could never pass
  const double error = limit + (place - 1.0) * 2.0 * open;
  scale_all(*scene, 1.0, draw.chance(0.5) ? error : -error);
  scene->story = "error of " + std::to_string(error) + " ppm, limit " +
                 std::to_string(limit);
  return scene;
}

std::vector<std::string> channels_of(const Specification& specification) {
  std::vector<std::string> names;
  for (const ClockSpec& clock : specification.clocks) {
    names.push_back(*clock.channel);
  }
  return names;
}

AnalysisOptions options_for(const Specification& specification,
                            const Timebase& timebase) {
  AnalysisOptions options;
  options.timebase = timebase;
  options.expected = expected_of(specification);
  for (const ClockSpec& clock : specification.clocks) {
    if (clock.settle_within_s) {
      options.settling.push_back({clock.channel, *clock.settle_within_s});
    }
  }
  return options;
}

}  // namespace

std::span<const char* const> fault_kinds() {
  static const std::vector<const char*> kNames = [] {
    std::vector<const char*> names;
    for (const FaultKind& kind : kinds()) names.push_back(kind.name);
    return names;
  }();
  return kNames;
}

FaultTrial make_fault_trial(std::string_view kind, std::uint64_t seed) {
  const auto found =
      std::find_if(kinds().begin(), kinds().end(),
                   [&](const FaultKind& k) { return kind == k.name; });
  assert(found != kinds().end());
  return draw_trial(found->make, kind, seed);
}

FaultTrial make_board_near_limit(double place, std::uint64_t seed) {
  return draw_trial([place](Draw& d) { return near_limit(d, place); },
                    "near_limit", seed);
}

Result<Record> judge_fault_trial(const FaultTrial& trial) {
  auto specification = parse_specification(trial.specification);
  if (!specification) return tl::unexpected(specification.error());
  Record record;
  record.command = "verify";
  record.title = specification->title;
  if (trial.timebase) {
    auto timebase = parse_timebase(*trial.timebase);
    if (!timebase) return tl::unexpected(timebase.error());
    record.timebase = *timebase;
  }
  ReadOptions reading;
  reading.channels = channels_of(*specification);
  reading.skip_missing_channels = true;
  std::optional<ReferenceClock> reference;
  if (trial.reference) {
    auto parsed = parse_reference(*trial.reference);
    if (!parsed) return tl::unexpected(parsed.error());
    reference = *parsed;
    reading.channels.push_back(reference->channel);
  }
  const auto capture = test::read_text(trial.capture, reading);
  if (!capture) return tl::unexpected(capture.error());
  const AnalysisOptions options = options_for(*specification, record.timebase);
  auto analysed =
      reference ? analyse_against(*reference, *capture, "capture", options,
                                  serial_for)
                : analyse_capture(*capture, "capture", options, serial_for);
  if (!analysed) return tl::unexpected(analysed.error());
  if (analysed->reference) record.timebase.kind = TimebaseKind::kReference;
  auto verdicts = judge_capture(
      *specification, *analysed,
      analysed->reference ? analysed->reference->timebase : record.timebase);
  if (!verdicts) return tl::unexpected(verdicts.error());
  record.captures.push_back(*std::move(analysed));
  record.verdicts = *std::move(verdicts);
  return record;
}

}  // namespace clockassay::faults
