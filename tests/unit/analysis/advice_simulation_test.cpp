// SPDX-License-Identifier: GPL-3.0-or-later
// Follows the advice an undecided verdict gives, with the same clock, and looks
// whether it is decided then.
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <random>
#include <string>

#include "clockassay/analysis/analyse.h"
#include "clockassay/capture/capture_writer.h"
#include "support/read_text.h"

using namespace clockassay;
using test::read_text;

namespace {

Rational millionths(double value) {
  return Rational::make(std::llround(value * 1e6), 1'000'000).value();
}

Timebase timebase_of(TimebaseKind kind, double ppm) {
  return {kind, Ppm(0.0), Ppm(ppm)};
}

/// A clock, and how it is captured.
struct Bench {
  std::int64_t nominal_hz = 12'000'000;
  double clock_ppm = 9.0;     ///< what it is off by
  double timebase_ppm = 0.0;  ///< what the instrument is off by
  double sample_rate_hz = 100e6;
  double duration_s = 1e-3;
  double jitter_s = 0.0;
  double limit_ppm = 30.0;
  std::uint64_t seed = 1;
};

Specification specification_of(const Bench& bench) {
  const auto spec = specification_from_options(
      std::to_string(bench.nominal_hz),
      std::to_string(std::llround(bench.limit_ppm)) + "ppm", {});
  REQUIRE(spec);
  return *spec;
}

/// As the instrument's own time shows it.
SimulatedCapture simulated(const Bench& bench, double nominal_hz,
                           double clock_ppm) {
  SimulatedClockOptions options;
  options.frequency_hz = millionths(nominal_hz);
  options.offset_ppm = millionths(
      1e6 * ((1 + clock_ppm * 1e-6) / (1 + bench.timebase_ppm * 1e-6) - 1));
  options.sample_rate_hz = millionths(bench.sample_rate_hz);
  options.duration_s =
      Rational::make(std::llround(bench.duration_s * 1e12), 1'000'000'000'000)
          .value();
  options.jitter_rms_s = bench.jitter_s;
  options.seed = bench.seed;
  const auto capture = simulate_clock(options);
  REQUIRE_MESSAGE(capture.has_value(), capture.error().message);
  return *capture;
}

Verdict only_verdict(const Bench& bench, const CaptureResult& result,
                     const Timebase& timebase) {
  const auto verdicts =
      judge_capture(specification_of(bench), result, timebase);
  REQUIRE(verdicts);
  REQUIRE(verdicts->size() == 1);
  return verdicts->front();
}

Verdict verdict_on(const Bench& bench, const Timebase& timebase) {
  const auto text = csv_text(
      simulated(bench, static_cast<double>(bench.nominal_hz), bench.clock_ppm),
      "clk");
  REQUIRE(text);
  const auto capture = read_text(*text);
  REQUIRE_MESSAGE(capture.has_value(), capture.error().message);
  AnalysisOptions analysis;
  analysis.timebase = timebase;
  return only_verdict(
      bench, analyse_capture(*capture, "board.csv", analysis, serial_for),
      timebase);
}

/// One row for every sample at which either changes, times in nanoseconds.
std::string two_channels(const SimulatedCapture& a, const SimulatedCapture& b,
                         std::int64_t ns_per_sample) {
  std::string text = "# sample rate 100 MHz\ntime_ns,clk,ref\n";
  bool level_a = a.first_level == Level::kHigh;
  bool level_b = b.first_level == Level::kHigh;
  std::size_t i = 0;
  std::size_t j = 0;
  std::int64_t n = 0;
  for (;;) {
    text += std::to_string(n * ns_per_sample) + (level_a ? ",1," : ",0,") +
            (level_b ? "1\n" : "0\n");
    if (i == a.edges.size() && j == b.edges.size()) return text;
    n = i == a.edges.size()   ? b.edges[j]
        : j == b.edges.size() ? a.edges[i]
                              : std::min(a.edges[i], b.edges[j]);
    if (i < a.edges.size() && a.edges[i] == n) level_a = !level_a, ++i;
    if (j < b.edges.size() && b.edges[j] == n) level_b = !level_b, ++j;
  }
}

/// The same with a clock beside it that is known to `tolerance_ppm`, and off by
/// nothing.
Verdict verdict_beside(const Bench& bench, double reference_hz,
                       double tolerance_ppm) {
  Bench beside = bench;
  beside.seed += 1000;
  const std::string text = two_channels(
      simulated(bench, static_cast<double>(bench.nominal_hz), bench.clock_ppm),
      simulated(beside, reference_hz, 0.0), 10);
  ReadOptions options;
  options.sample_rate_hz = millionths(bench.sample_rate_hz);
  const auto capture = read_text(text, options);
  REQUIRE_MESSAGE(capture.has_value(), capture.error().message);
  const ReferenceClock reference = {"ref", millionths(reference_hz),
                                    millionths(tolerance_ppm)};
  const auto result =
      analyse_against(reference, *capture, "board.csv", {}, serial_for);
  REQUIRE_MESSAGE(result.has_value(), result.error().message);
  REQUIRE(result->reference);
  return only_verdict(bench, *result, result->reference->timebase);
}

}  // namespace

TEST_CASE("advice followed: a better timebase decides what it said it would") {
  for (const double ppm : {-24.0, 2.0, 9.0, 28.0, 33.0, 60.0}) {
    CAPTURE(ppm);
    Bench bench;
    bench.clock_ppm = ppm;
    const Verdict first =
        verdict_on(bench, timebase_of(TimebaseKind::kAssumed, 100));
    REQUIRE(first.decision == Decision::kUndecided);
    REQUIRE(first.to_decide);
    REQUIRE(first.to_decide->timebase);
    const Decision truth =
        std::abs(ppm) <= 30 ? Decision::kPass : Decision::kFail;
    bench.seed = 2;  // another capture
    CHECK(verdict_on(bench, timebase_of(TimebaseKind::kCalibrated,
                                        first.to_decide->timebase->value()))
              .decision == truth);
    REQUIRE(first.to_decide->reference);
    // None that the sampler meets at the same places again and again: it is as
    // well seen as the clock.
    for (const double reference_hz : {10.0137e6, 1.00271e6, 8.1234e6}) {
      CAPTURE(reference_hz);
      CHECK(verdict_beside(bench, reference_hz,
                           first.to_decide->reference->value())
                .decision == truth);
    }
  }
}

TEST_CASE("advice followed: again and again it comes to the right decision") {
  // The instrument is off by anything its tolerance allows, at first and after
  // each calibration, so a better one finds another error than was seen.
  constexpr unsigned kSeed = 106;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  std::uniform_real_distribution<double> unit(-1, 1);
  constexpr int kBoards = 60;
  int wrong = 0;
  int rounds = 0;
  for (int i = 0; i < kBoards; ++i) {
    CAPTURE(i);
    Bench bench;
    bench.clock_ppm = 60 * unit(random);
    CAPTURE(bench.clock_ppm);
    double tolerance = 100.0;
    Verdict verdict;
    bool at_limit = false;
    for (int round = 0; round < 12; ++round) {
      bench.timebase_ppm = tolerance * unit(random);
      bench.seed = random();
      verdict =
          verdict_on(bench, timebase_of(round == 0 ? TimebaseKind::kAssumed
                                                   : TimebaseKind::kStated,
                                        tolerance));
      ++rounds;
      if (verdict.decision != Decision::kUndecided) break;
      REQUIRE(verdict.to_decide);
      at_limit = verdict.to_decide->on_limit;
      if (at_limit || !verdict.to_decide->timebase) break;
      tolerance = verdict.to_decide->timebase->value();
    }
    CHECK((verdict.decision != Decision::kUndecided || at_limit));
    const bool conforms = std::abs(bench.clock_ppm) <= 30;
    wrong += verdict.decision == (conforms ? Decision::kFail : Decision::kPass)
                 ? 1
                 : 0;
  }
  MESSAGE(kBoards, " boards, ", rounds, " captures, ", wrong, " wrong");
  // The specific risk of each decision is 2.5 % at most; 4.5 binomial standard
  // deviations.
  const double p = 0.025;
  CHECK(wrong <= kBoards * p + 4.5 * std::sqrt(kBoards * p * (1 - p)));
  // It comes to an end: each capture decides at least one board in three or so.
  CHECK(rounds <= 4 * kBoards);
}

TEST_CASE("advice followed: a longer capture, or a faster sampler") {
  // Short captures of a slow sampler, whose rate the clock locks to or not:
  // what sampling leaves is the question. The limit is hundreds of ppm away.
  struct Case {
    std::int64_t nominal_hz;
    double jitter_s;
    double clock_ppm;
  };
  const Case cases[] = {
      {1'000'000, 0.0, 900},   {1'000'000, 0.0, 1120}, {1'013'700, 0.0, 940},
      {3'000'000, 0.0, -950},  {2'718'281, 0.0, 980},  {1'000'000, 1e-9, 930},
      {1'000'000, 60e-9, 700}, {470'000, 0.0, 850},
  };
  int longer = 0;
  int faster = 0;
  int open = 0;  // undecided still
  for (const Case& c : cases) {
    for (std::uint64_t seed = 1; seed <= 8; ++seed) {
      CAPTURE(c.nominal_hz);
      CAPTURE(c.jitter_s);
      CAPTURE(seed);
      Bench bench;
      bench.nominal_hz = c.nominal_hz;
      bench.clock_ppm = c.clock_ppm;
      bench.jitter_s = c.jitter_s;
      bench.sample_rate_hz = 24e6;
      bench.duration_s = 40e-6;
      bench.limit_ppm = 1000;
      bench.seed = seed;
      const Timebase timebase = timebase_of(TimebaseKind::kStated, 2);
      const Verdict first = verdict_on(bench, timebase);
      if (first.decision != Decision::kUndecided || !first.to_decide) continue;
      const ToDecide& numbers = *first.to_decide;
      // Off by what it seemed to be, as the advice says of itself.
      bench.clock_ppm = first.error->value();
      const Decision expected = std::abs(bench.clock_ppm) <= bench.limit_ppm
                                    ? Decision::kPass
                                    : Decision::kFail;
      CAPTURE(bench.clock_ppm);
      // On its limit, as it seems, it is not what the figures aim at.
      const bool by_margin =
          numbers.aim.value() <= 0.5 * numbers.margin.value();
      if (!numbers.capture_alone || !by_margin) continue;
      const auto follow = [&](Bench again) {
        CAPTURE(again.duration_s);
        CAPTURE(again.sample_rate_hz);
        const Decision decision = verdict_on(again, timebase).decision;
        if (decision == Decision::kUndecided) {
          ++open;
          return;
        }
        CHECK(decision == expected);
      };
      if (numbers.duration) {
        Bench again = bench;
        again.duration_s = numbers.duration->value();
        again.seed += 100;
        follow(again);
        ++longer;
      }
      if (numbers.sample_rate) {
        Bench again = bench;
        again.sample_rate_hz = numbers.sample_rate->value();
        again.seed += 200;
        follow(again);
        ++faster;
      }
    }
  }
  MESSAGE(longer, " longer captures, ", faster, " faster ones, ", open,
          " undecided still");
  // As often as U does not hold: 5 %, and four standard deviations of a count.
  const double p = 0.05;
  const int followed = longer + faster;
  CHECK(open <= followed * p + 4.0 * std::sqrt(followed * p * (1.0 - p)));
  CHECK(longer > 10);
  CHECK(faster >= 5);
}
