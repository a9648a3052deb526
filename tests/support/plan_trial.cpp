// SPDX-License-Identifier: GPL-3.0-or-later
#include "support/plan_trial.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <random>
#include <utility>

#include "clockassay/analysis/analyse.h"
#include "clockassay/analysis/instrument.h"
#include "clockassay/base/number_text.h"
#include "clockassay/base/parallel.h"
#include "clockassay/capture/capture_reader.h"
#include "clockassay/capture/capture_writer.h"
#include "clockassay/capture/simulated_clock.h"

namespace clockassay::testing {
namespace {

// More cycles take too long for some hundred trials; then the capture is
// planned with the length that has as many.
constexpr double kMostCycles = 60'000.0;

constexpr std::int64_t kSourcesHz[] = {
    32'768,     1'000'000,  4'000'000,  8'000'000,  11'059'200, 12'000'000,
    14'745'600, 16'000'000, 20'000'000, 24'000'000, 25'000'000, 26'000'000};
constexpr std::int64_t kRatesHz[] = {
    1'000'000,   2'000'000,   4'000'000,   8'000'000,  10'000'000, 12'000'000,
    16'000'000,  20'000'000,  24'000'000,  25'000'000, 50'000'000, 80'000'000,
    100'000'000, 125'000'000, 200'000'000, 500'000'000};

class Draw {
 public:
  explicit Draw(std::uint64_t seed) : random_(seed) {}
  double between(double low, double high) {
    return std::uniform_real_distribution<double>(low, high)(random_);
  }
  /// Every factor alike.
  double scale(double low, double high) {
    return low * std::pow(high / low, between(0.0, 1.0));
  }
  bool chance(double p) { return between(0.0, 1.0) < p; }
  template <class T, std::size_t N>
  T one_of(const T (&list)[N]) {
    return list[std::uniform_int_distribution<std::size_t>(0, N - 1)(random_)];
  }

 private:
  std::mt19937_64 random_;
};

Rational millionths(double value) {
  return Rational::make(std::llround(value * 1e6), 1'000'000).value();
}

std::string ppm_text(double value) {
  return number_text(value, 3) + "ppm";
}

Timebase any_timebase(Draw& draw) {
  if (draw.chance(0.2)) return {};
  Timebase timebase;
  timebase.kind = TimebaseKind::kStated;
  timebase.tolerance = Ppm(draw.scale(0.5, 100.0));
  if (draw.chance(0.4)) {
    timebase.kind = TimebaseKind::kCalibrated;
    timebase.offset = Ppm(std::round(draw.between(-50.0, 50.0)));
    timebase.tolerance = Ppm(draw.scale(0.3, 5.0));
  }
  return timebase;
}

void draw_question(Draw& draw, PlanTrial& trial) {
  trial.expect = std::to_string(draw.one_of(kSourcesHz));
  for (int i = 0; i < 2; ++i) {
    if (!draw.chance(0.6)) continue;
    const double divider = std::round(draw.scale(2.0, 40.0));
    trial.expect += " / " + number_text(divider, 3);
  }
  trial.tolerance = ppm_text(draw.scale(2.0, 2000.0));
  if (draw.chance(0.1)) {
    trial.tolerance = '-' + ppm_text(draw.scale(20.0, 5000.0)) + ".." +
                      ppm_text(draw.scale(5.0, 300.0));
  }
}

// What the clock does that the plan may not have been told of.
void draw_clock(Draw& draw, CapturePlanInput& input, PlanTrial& trial) {
  const double period = 1.0 / input.expect.frequency_hz.to_double();
  if (draw.chance(0.4)) {
    // Up to where a capture shows no clock any more.
    input.jitter = Seconds(
        std::min(draw.scale(1e-11, 5e-8), draw.between(0.0, 0.3) * period));
  }
  if (draw.chance(0.4)) {
    const double low = draw.between(0.2, 0.7);
    input.duty = DutyRange{low, std::min(0.8, low + draw.between(0.0, 0.1))};
    trial.duty = draw.between(input.duty->low, input.duty->high);
  }
}

CapturePlanInput draw_input(Draw& draw, PlanTrial& trial) {
  constexpr double kCoverages[] = {0.95, 0.95, 0.95, 0.9, 0.99};
  draw_question(draw, trial);
  CapturePlanInput input;
  input.expect = parse_clock_path(trial.expect).value();
  input.tolerance = parse_tolerance(trial.tolerance).value();
  input.timebase = any_timebase(draw);
  input.coverage = draw.one_of(kCoverages);
  input.sample_rate_hz = Rational(draw.one_of(kRatesHz));
  if (draw.chance(0.15)) {
    // Three to five samples a period, and near to whole numbers of them.
    const double samples = draw.chance(0.5) ? std::round(draw.between(3.0, 5.0))
                                            : draw.between(2.9, 5.0);
    input.sample_rate_hz = Rational(std::max<std::int64_t>(
        1, std::llround(samples * input.expect.frequency_hz.to_double())));
  }
  if (draw.chance(0.2)) {
    input.reference_tolerance = Ppm(draw.scale(0.02, 20.0));
  }
  draw_clock(draw, input, trial);
  return input;
}

// Jitter that was not stated, where the plan says that it does not count.
void draw_jitter(Draw& draw, PlanTrial& trial) {
  const CapturePlan& plan = trial.plan;
  if (plan.input.jitter) {
    trial.jitter = *plan.input.jitter;
  } else if (draw.chance(0.5)) {
    const Seconds most =
        std::min(plan.width.jitter_that_counts, plan.most_jitter);
    trial.jitter = Seconds(0.9 * most.value() * draw.scale(1e-3, 1.0));
  }
}

void plan_within_reach(Draw& draw, CapturePlanInput input, PlanTrial& trial) {
  trial.plan = plan_capture(input);
  const double f = input.expect.frequency_hz.to_double();
  const double most = kMostCycles / f;
  if (draw.chance(0.15)) {
    // Somebody takes less time than is asked for.
    input.duration = Seconds(
        std::min(most, trial.plan.duration.value() * draw.scale(0.02, 1.0)));
  } else if (draw.chance(0.2) && trial.plan.needed && trial.plan.decidable &&
             trial.plan.needed->duration.value() <= most) {
    // Or what is said to be needed.
    trial.likely = trial.plan.needed->passes;
    input.duration = trial.plan.needed->duration;
  } else if (trial.plan.duration.value() > most) {
    input.duration = Seconds(most);
  }
  if (input.duration) trial.plan = plan_capture(input);
}

void place_clock(Draw& draw, PlanTrial& trial) {
  const CapturePlan& plan = trial.plan;
  const double u = plan.expanded.value();
  const auto& sure = plan.zones.sure_pass;
  const auto& fails = plan.zones.sure_fail;
  const double where = draw.between(0.0, 1.0);
  if (trial.likely && plan.decidable &&
      plan.uneven <= 1.0 - plan.input.coverage && !plan.alias) {
    trial.promise = PlanPromise::kLikely;
    trial.clock_ppm = 0.5 * (plan.low_ppm + plan.high_ppm);
  } else if (fails && where < 0.35) {
    trial.promise = PlanPromise::kFail;
    const double beyond = u * draw.between(0.0, 3.0);
    trial.clock_ppm =
        draw.chance(0.5) ? fails->high_ppm + beyond : fails->low_ppm - beyond;
  } else if (!plan.decidable) {
    trial.promise = PlanPromise::kUndecided;
    trial.clock_ppm = draw.between(plan.low_ppm, plan.high_ppm);
  } else if (sure && where < 0.8) {
    trial.promise = PlanPromise::kPass;
    // As often at an end as anywhere.
    trial.clock_ppm = draw.chance(0.5)
                          ? draw.between(sure->low_ppm, sure->high_ppm)
                      : draw.chance(0.5) ? sure->low_ppm
                                         : sure->high_ppm;
  } else {
    trial.clock_ppm = draw.between(fails->low_ppm, fails->high_ppm);
  }
}

// Off by ppm, seen through the instrument.
Rational seen_off_by(const PlanTrial& trial, double ppm) {
  return millionths(1e6 *
                    ((1 + ppm * 1e-6) / (1 + trial.timebase_ppm * 1e-6) - 1));
}

SimulatedClockOptions simulation(const PlanTrial& trial, std::uint64_t seed) {
  const CapturePlanInput& in = trial.plan.input;
  SimulatedClockOptions options;
  options.frequency_hz = in.expect.frequency_hz;
  options.offset_ppm = seen_off_by(trial, trial.clock_ppm);
  options.sample_rate_hz = in.sample_rate_hz;
  const double picoseconds = trial.plan.duration.value() * 1e12;
  options.duration_s =
      Rational::make(std::llround(picoseconds), 1'000'000'000'000).value();
  options.jitter_rms_s = trial.jitter.value();
  options.duty =
      Rational::make(std::llround(trial.duty * 1e6), 1'000'000).value();
  options.seed = seed;
  return options;
}

// Both channels on one time axis, in picoseconds.
std::string two_channels(const SimulatedCapture& clock,
                         const SimulatedCapture& reference) {
  std::string text =
      "$timescale 1 ps $end\n$var wire 1 c clk $end\n"
      "$var wire 1 r ref $end\n$enddefinitions $end\n";
  const double ps = 1e12 / clock.sample_rate_hz.to_double();
  std::map<std::int64_t, std::string> changes;
  for (const auto& [capture, code] :
       {std::pair(&clock, "c\n"), std::pair(&reference, "r\n")}) {
    bool high = capture->first_level == Level::kHigh;
    changes[0] += (high ? "1" : "0") + std::string(code);
    for (const std::int64_t n : capture->edges) {
      high = !high;
      changes[n] += (high ? "1" : "0") + std::string(code);
    }
  }
  for (const auto& [n, levels] : changes) {
    text += '#' + std::to_string(std::llround(ps * static_cast<double>(n))) +
            '\n' + levels;
  }
  return text;
}

Result<std::string> with_reference(Draw& draw, const SimulatedCapture& clock,
                                   std::uint64_t seed, PlanTrial& trial) {
  const CapturePlan& plan = trial.plan;
  const double a = plan.input.reference_tolerance->value();
  const double slowest = plan.slowest_reference->value();
  const double fastest = 0.2 * plan.input.sample_rate_hz.to_double();
  trial.reference_hz =
      std::max(std::ceil(slowest), std::round(draw.scale(slowest, fastest)));
  SimulatedClockOptions options = simulation(trial, seed + 1);
  options.frequency_hz =
      Rational(static_cast<std::int64_t>(trial.reference_hz));
  options.offset_ppm = seen_off_by(trial, draw.between(-a, a));
  options.jitter_rms_s = 0.0;
  options.duty = Rational::make(1, 2).value();
  const auto reference = simulate_clock(options);
  if (!reference) return tl::unexpected(reference.error());
  return two_channels(clock, *reference);
}

Result<CaptureResult> analyse(const Capture& capture, const PlanTrial& trial) {
  const CapturePlanInput& in = trial.plan.input;
  AnalysisOptions analysis;
  analysis.timebase = in.timebase;
  analysis.coverage = in.coverage;
  if (!in.reference_tolerance) {
    return analyse_capture(capture, "board", analysis, serial_for);
  }
  const ReferenceClock reference{
      "ref", Rational(static_cast<std::int64_t>(trial.reference_hz)),
      Rational::make(std::llround(in.reference_tolerance->value() * 1e6),
                     1'000'000)
          .value()};
  return analyse_against(reference, capture, "board", analysis, serial_for);
}

Result<Verdict> judge(const std::string& text, PlanTrial& trial) {
  const CapturePlanInput& in = trial.plan.input;
  ReadOptions reading;
  reading.sample_rate_hz = in.sample_rate_hz;
  std::size_t at = 0;
  const ByteSource source = [&](std::span<char> buffer) -> Result<std::size_t> {
    const std::size_t n = std::min(buffer.size(), text.size() - at);
    std::copy_n(text.data() + at, n, buffer.data());
    at += n;
    return n;
  };
  const auto capture = read_capture(source, reading, {}, serial_for);
  if (!capture) return tl::unexpected(capture.error());
  auto spec = specification_from_options(trial.expect, trial.tolerance, {});
  if (!spec) return tl::unexpected(spec.error());
  if (in.reference_tolerance) spec->clocks.front().channel = "clk";
  const auto result = analyse(*capture, trial);
  if (!result) return tl::unexpected(result.error());
  for (const auto& channel : result->channels) {
    if (channel.is_reference || !channel.budget) continue;
    trial.capture_ppm = channel.budget->expanded_capture_ppm.value();
  }
  const auto verdicts = judge_capture(
      *spec, *result,
      result->reference ? result->reference->timebase : in.timebase);
  if (!verdicts) return tl::unexpected(verdicts.error());
  return verdicts->front();
}

bool is_kept(PlanPromise promise, Decision decision) {
  switch (promise) {
    case PlanPromise::kLikely:
    case PlanPromise::kPass:
      return decision == Decision::kPass;
    case PlanPromise::kFail:
      return decision == Decision::kFail;
    case PlanPromise::kUndecided:
      return decision == Decision::kUndecided;
    case PlanPromise::kNone:
      break;
  }
  return true;
}

// Simulated as planned, seen through the instrument, read and judged.
void carry_out(Draw& draw, std::uint64_t seed, PlanTrial& trial) {
  const Timebase& timebase = trial.plan.input.timebase;
  const double a = timebase.tolerance.value();
  trial.timebase_ppm = timebase.offset.value() + draw.between(-a, a);
  const bool vcd = draw.chance(0.5);
  const auto text = [&]() -> Result<std::string> {
    const auto capture = simulate_clock(simulation(trial, seed));
    if (!capture) return tl::unexpected(capture.error());
    if (trial.plan.input.reference_tolerance) {
      return with_reference(draw, *capture, seed, trial);
    }
    return vcd ? vcd_text(*capture, "clk") : csv_text(*capture, "clk");
  }();
  const auto verdict = text ? judge(*text, trial)
                            : Result<Verdict>(tl::unexpected(text.error()));
  if (!verdict) {
    // What cannot be sampled or read decides nothing.
    trial.refused = true;
    trial.why = verdict.error().message;
  } else {
    trial.decision = verdict->decision;
    if (verdict->expanded_uncertainty) {
      trial.expanded_ppm = verdict->expanded_uncertainty->value();
    }
    for (const std::string& reason : verdict->reasons)
      trial.why += reason + ' ';
    for (const Warning& w : verdict->warnings) trial.why += w.message + ' ';
  }
  trial.kept = is_kept(trial.promise, trial.decision);
}

}  // namespace

const char* promise_name(PlanPromise promise) {
  switch (promise) {
    case PlanPromise::kPass:
      return "a pass is sure";
    case PlanPromise::kFail:
      return "a fail is sure";
    case PlanPromise::kUndecided:
      return "not decidable";
    case PlanPromise::kLikely:
      return "needed length";
    case PlanPromise::kNone:
      break;
  }
  return "nothing is sure";
}

PlanTrial plan_trial(std::uint64_t seed) {
  Draw draw(seed);
  PlanTrial trial;
  plan_within_reach(draw, draw_input(draw, trial), trial);
  draw_jitter(draw, trial);
  place_clock(draw, trial);
  carry_out(draw, seed, trial);
  return trial;
}

PlanTrial needed_trial(const char* expect, double tolerance_ppm,
                       double timebase_ppm, std::int64_t rate_hz,
                       std::uint64_t seed) {
  Draw draw(seed);
  PlanTrial trial;
  trial.expect = expect;
  trial.tolerance = ppm_text(tolerance_ppm);
  CapturePlanInput input;
  input.expect = parse_clock_path(trial.expect).value();
  input.tolerance = parse_tolerance(trial.tolerance).value();
  input.timebase = {TimebaseKind::kStated, Ppm(0.0), Ppm(timebase_ppm)};
  input.sample_rate_hz = Rational(rate_hz);
  const NeededCapture needed = plan_capture(input).needed.value();
  input.duration = needed.duration;
  trial.plan = plan_capture(input);
  trial.likely = needed.passes;
  trial.promise = PlanPromise::kLikely;
  if (draw.chance(0.5)) {
    trial.jitter = draw.scale(1e-3, 0.9) * needed.jitter_below.value();
  }
  carry_out(draw, seed, trial);
  return trial;
}

}  // namespace clockassay::testing
