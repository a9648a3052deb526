// SPDX-License-Identifier: GPL-3.0-or-later
#include <doctest/doctest.h>

#include <vector>

#include "clockassay/analysis/analyse.h"
#include "clockassay/capture/capture_writer.h"
#include "support/approx.h"
#include "support/read_text.h"

using namespace clockassay;
using test::read_text;

namespace {

Timebase stated(double ppm) {
  return {TimebaseKind::kStated, Ppm(0.0), Ppm(ppm)};
}

/// 12 MHz and `ppm`, 10 ms at 100 MHz.
CaptureResult clock_off_by(std::int64_t ppm, const Timebase& timebase,
                           double coverage = 0.95) {
  SimulatedClockOptions options;
  options.offset_ppm = Rational(ppm);
  options.duration_s = *Rational::make(1, 100);
  options.seed = 4;
  const auto simulated = simulate_clock(options);
  REQUIRE(simulated);
  const auto text = csv_text(*simulated, "clk_out");
  REQUIRE(text);
  const auto capture = read_text(*text);
  REQUIRE(capture);
  AnalysisOptions analysis;
  analysis.timebase = timebase;
  analysis.coverage = coverage;
  return analyse_capture(*capture, "board.csv", analysis, serial_for);
}

Specification thirty_ppm(const std::string& channel = "") {
  auto spec = specification_from_options("24MHz / 2", "30ppm", {});
  REQUIRE(spec);
  if (!channel.empty()) spec->clocks.at(0).channel = channel;
  return *spec;
}

Verdict verdict_on(std::int64_t ppm, double timebase_ppm) {
  const Timebase timebase = stated(timebase_ppm);
  const auto verdicts =
      judge_capture(thirty_ppm(), clock_off_by(ppm, timebase), timebase);
  REQUIRE(verdicts);
  REQUIRE(verdicts->size() == 1);
  return verdicts->front();
}

}  // namespace

TEST_CASE("judge_capture: within, beyond and across the limit") {
  // Limit 30 ppm. U is about the timebase's 2 ppm (0.95 of a rectangle) and
  // under 1 ppm of sampling: 17 passes, 60 fails, 29 is undecided; with a
  // timebase of 100 ppm nothing passes.
  CHECK(verdict_on(17, 2).decision == Decision::kPass);
  CHECK(verdict_on(60, 2).decision == Decision::kFail);
  CHECK(verdict_on(-60, 2).decision == Decision::kFail);
  CHECK(verdict_on(29, 2).decision == Decision::kUndecided);
  CHECK(verdict_on(17, 100).decision == Decision::kUndecided);
}

TEST_CASE("judge_capture: the last of several stretches fails not alone") {
  // 60 ppm fast in the last 2 ms and 29, across the limit, in the 8 ms before;
  // the capture's own U is set so that both may be one clock: apart by 31, four
  // times 10 are allowed.
  const Timebase timebase = stated(2);
  CaptureResult capture = clock_off_by(60, timebase);
  ChannelResult& channel = capture.channels.at(0);
  StretchRecord before =
      clock_off_by(29, timebase).channels.at(0).stretches.at(0);
  before.from = Seconds(0.0);
  before.to = Seconds(0.008);
  before.budget->expanded_capture_ppm = Ppm(10.0);
  channel.budget->expanded_capture_ppm = Ppm(10.0);
  StretchRecord& last = channel.stretches.at(0);
  last.from = Seconds(0.008);
  last.begins_after = StretchBreak::kStopped;
  channel.stretches.insert(channel.stretches.begin(), before);
  const auto decide = [&] {
    const auto verdicts = judge_capture(thirty_ppm(), capture, timebase);
    REQUIRE(verdicts);
    return verdicts->at(0).decision;
  };
  CHECK(decide() == Decision::kUndecided);
  // A step of the frequency is of the clock: what follows it stands.
  channel.stretches[1].begins_after = StretchBreak::kFrequencyStep;
  CHECK(decide() == Decision::kFail);
  channel.stretches[1].begins_after = StretchBreak::kStopped;
  // So does what is too far off to be one clock.
  channel.budget->expanded_capture_ppm = Ppm(1.0);
  channel.stretches[0].budget->expanded_capture_ppm = Ppm(1.0);
  CHECK(decide() == Decision::kFail);
  channel.budget->expanded_capture_ppm = Ppm(10.0);
  channel.stretches[0].budget->expanded_capture_ppm = Ppm(10.0);
  CHECK(decide() == Decision::kUndecided);
  // A shorter one says nothing against the last.
  channel.stretches[0].to = Seconds(0.001);
  CHECK(decide() == Decision::kFail);
}

TEST_CASE("judge_capture: the source is implied through the path") {
  const Verdict v = verdict_on(17, 2);
  // 12 MHz + 17 ppm behind a divider by two: 24 MHz + 17 ppm = 24 000 408 Hz.
  REQUIRE(v.implied_source);
  CHECK(v.implied_source->value() ==
        testing::approx(24'000'408.0).epsilon(1e-6));
}

TEST_CASE("judge_capture: a named channel that is missing or idle is a fail") {
  const Timebase timebase = stated(2);
  const CaptureResult capture = clock_off_by(0, timebase);
  const auto missing = judge_capture(thirty_ppm("mco"), capture, timebase);
  REQUIRE(missing);
  CHECK(missing->at(0).decision == Decision::kFail);
  CHECK_FALSE(missing->at(0).error.has_value());
  CHECK(missing->at(0).reasons.at(0) ==
        "The capture has no channel \"mco\", there are \"clk_out\".");
  const auto typo = judge_capture(thirty_ppm("clk_oot"), capture, timebase);
  REQUIRE(typo);
  CHECK(typo->at(0).decision == Decision::kFail);
  CHECK(typo->at(0).reasons.at(0) ==
        "The capture has no channel \"clk_oot\", there are \"clk_out\"; did "
        "you mean \"clk_out\"?");
  CaptureResult idle = capture;
  idle.channels.clear();
  idle.idle_channels = {{"clk_out", {}, 0, true}};
  const auto constant = judge_capture(thirty_ppm("clk_out"), idle, timebase);
  REQUIRE(constant);
  CHECK(constant->at(0).decision == Decision::kFail);
  CHECK(constant->at(0).reasons.at(0) ==
        "Channel clk_out is constant: no edge at all.");
  idle.idle_channels = {{"clk_out", {}, 1, true}};
  const auto once = judge_capture(thirty_ppm("clk_out"), idle, timebase);
  REQUIRE(once);
  CHECK(once->at(0).reasons.at(0) ==
        "Channel clk_out has 1 edge, too few or too irregular to be a clock.");
  // Its edges may all lie outside of what is measured against a reference.
  idle.reference = ReferenceResult{};
  const auto outside = judge_capture(thirty_ppm("clk_out"), idle, timebase);
  REQUIRE(outside);
  CHECK(outside->at(0).reasons.at(0) ==
        "Channel clk_out has 1 edge, too few or too irregular in the time of "
        "the reference to be a clock.");
}

TEST_CASE("judge_capture: less than two periods prove no missing clock") {
  const Timebase timebase = stated(2);
  CaptureResult capture = clock_off_by(0, timebase);
  capture.channels.clear();
  capture.idle_channels = {{"clk_out", {}, 0, true}};
  // Of 12 MHz: two periods are 166.7 ns.
  capture.duration = Seconds(160e-9);
  auto verdict = judge_capture(thirty_ppm("clk_out"), capture, timebase);
  REQUIRE(verdict);
  CHECK(verdict->at(0).decision == Decision::kUndecided);
  CHECK(verdict->at(0).reasons.at(0) ==
        "Channel clk_out shows no edge, but the capture lasts 1.6e-07 s, less "
        "than two periods of the expected clock: capture longer.");
  capture.duration = Seconds(170e-9);
  verdict = judge_capture(thirty_ppm("clk_out"), capture, timebase);
  REQUIRE(verdict);
  CHECK(verdict->at(0).decision == Decision::kFail);
  // Nor does a capture that ends before the clock has to run.
  ClockSpec settling = thirty_ppm("clk_out").clocks[0];
  settling.settle_within_s = *Rational::make(5, 1000);
  Specification may_settle;
  may_settle.clocks = {settling};
  for (const double duration : {3e-3, 5e-3, 5.0001e-3, 5.0002e-3}) {
    CAPTURE(duration);
    capture.duration = Seconds(duration);
    verdict = judge_capture(may_settle, capture, timebase);
    REQUIRE(verdict);
    CHECK(verdict->at(0).decision ==
          (duration < 5.00017e-3 ? Decision::kUndecided : Decision::kFail));
  }
}

TEST_CASE("judge_capture: edges lost in the writing are not a constant level") {
  // 1 MHz in steps of 10 us: every stamp has both levels.
  std::string text = "time_s,clk\n";
  for (int i = 0; i < 200; ++i) {
    const std::string us10 = std::to_string(i / 20);
    text += "0.000" + std::string(2 - us10.size(), '0') + us10 + "," +
            std::to_string(i % 2) + "\n";
  }
  const auto capture = read_text(text);
  REQUIRE(capture);
  const CaptureResult result =
      analyse_capture(*capture, "board.csv", {}, serial_for);
  for (const char* name : {"", "clk"}) {
    const auto verdicts = judge_capture(thirty_ppm(name), result, stated(2));
    REQUIRE(verdicts);
    CHECK(verdicts->at(0).decision == Decision::kUndecided);
    REQUIRE(!verdicts->at(0).reasons.empty());
    // Every stamp settles high and goes low and back 10 times, but the first,
    // where the first low is where it begins: 9 + 9 * 10.
    CHECK(verdicts->at(0).reasons[0] ==
          "Channel clk changes and changes back within one time, 99 times: the "
          "times are written too coarsely to show its edges. Export them with "
          "more digits.");
  }
}

TEST_CASE("judge_capture: a few edges are undecided, not a missing clock") {
  const Timebase timebase = stated(2);
  CaptureResult capture = clock_off_by(0, timebase);
  capture.channels.clear();
  capture.idle_channels = {{"clk_out", {}, 3, true}};
  for (const char* name : {"", "clk_out"}) {
    const auto verdicts = judge_capture(thirty_ppm(name), capture, timebase);
    REQUIRE(verdicts);
    CHECK(verdicts->at(0).decision == Decision::kUndecided);
    CHECK(verdicts->at(0).reasons.at(0) ==
          "Channel clk_out has 3 edges, too few or too irregular to be a "
          "clock.");
  }
}

TEST_CASE("judge_capture: a threshold never crossed proves no constant pin") {
  std::string text = "time_us,v\n";
  for (int i = 0; i < 40; ++i) {
    text += std::to_string(i) + (i % 8 < 4 ? ",0.1\n" : ",1.2\n");
  }
  ReadOptions options;
  options.analogue = AnalogueOptions{Rational(5), Rational(0)};
  const auto capture = read_text(text, options);
  REQUIRE(capture);
  const Timebase timebase = stated(2);
  AnalysisOptions analysis;
  analysis.timebase = timebase;
  const CaptureResult result =
      analyse_capture(*capture, "board.csv", analysis, serial_for);
  for (const char* name : {"", "v"}) {
    const auto verdicts = judge_capture(thirty_ppm(name), result, timebase);
    REQUIRE(verdicts);
    CHECK(verdicts->at(0).decision == Decision::kUndecided);
    CHECK(verdicts->at(0).reasons.at(0) ==
          "Channel v shows no edge: the column \"v\" lies between 0.1 and 1.2 "
          "and never turns at 5 with a hysteresis of 0; if it holds a clock, "
          "state another threshold.");
  }
  // A logic channel beside it that stands still is a fail all the same.
  const auto both =
      read_text("time_us,v,clk\n0,0.1,0\n1,1.2,0\n2,0.1,0\n", options);
  REQUIRE(both);
  const auto verdicts = judge_capture(
      thirty_ppm("clk"),
      analyse_capture(*both, "board.csv", analysis, serial_for), timebase);
  REQUIRE(verdicts);
  CHECK(verdicts->at(0).decision == Decision::kFail);
}

TEST_CASE("judge_capture: levels that are never known prove no constant pin") {
  const Timebase timebase = stated(2);
  CaptureResult capture = clock_off_by(0, timebase);
  capture.channels.clear();
  capture.idle_channels = {{"clk_out", {}, 0, false}};
  const auto verdicts = judge_capture(thirty_ppm(), capture, timebase);
  REQUIRE(verdicts);
  CHECK(verdicts->at(0).decision == Decision::kUndecided);
}

TEST_CASE("judge_capture: no failure where the sampler may have aliased") {
  // 12 MHz is seen, 92 MHz expected, and the file does not say the rate: the
  // window is all there is, and 92 MHz would have 1/92e6/12e-9 periods in it.
  const Timebase timebase = stated(2);
  CaptureResult capture = clock_off_by(0, timebase);
  capture.sample_interval.reset();
  capture.window = Seconds(12e-9);
  const auto spec = specification_from_options("92MHz", "30ppm", {});
  REQUIRE(spec);
  const auto verdicts = judge_capture(*spec, capture, timebase);
  REQUIRE(verdicts);
  CHECK(verdicts->at(0).decision == Decision::kUndecided);
}

TEST_CASE("judge_capture: several clocks and no name is a usage error") {
  const Timebase timebase = stated(2);
  CaptureResult capture = clock_off_by(0, timebase);
  capture.channels.push_back(capture.channels.front());
  capture.channels.back().name = "eth_ref";
  const auto verdicts = judge_capture(thirty_ppm(), capture, timebase);
  REQUIRE_FALSE(verdicts);
  CHECK(verdicts.error().code == ErrorCode::kUsage);
  CHECK(verdicts.error().path == "board.csv");
  const auto named = judge_capture(thirty_ppm("eth_ref"), capture, timebase);
  REQUIRE(named);
  CHECK(named->at(0).channel == "eth_ref");
}

TEST_CASE(
    "compare_outputs: what two may differ by is no matter of --coverage") {
  auto spec = specification_from_options("24MHz / 2", "30ppm", {});
  REQUIRE(spec);
  spec->clocks.push_back(spec->clocks.front());
  spec->clocks[0].channel = "a";
  spec->clocks[1].channel = "b";
  std::vector<double> allowed;
  for (const double coverage : {0.5, 0.95, 0.999}) {
    CaptureResult capture = clock_off_by(0, stated(2), coverage);
    capture.channels.push_back(capture.channels.front());
    capture.channels[0].name = "a";
    capture.channels[1].name = "b";
    const auto groups = compare_outputs(*spec, capture);
    REQUIRE(groups.size() == 1);
    REQUIRE(groups[0].pairs.size() == 1);
    allowed.push_back(groups[0].pairs[0].allowed.value());
    // 95 %: 1.959 964 of any table of the normal distribution, for each.
    const FrequencyResult& f = capture.channels[0].budget->relative_to_timebase;
    CHECK(allowed.back() ==
          testing::approx(2 * 1.959964e6 * (f.standard_uncertainty / f.value))
              .epsilon(1e-6));
  }
  CHECK(allowed[0] == testing::approx(allowed[1]).epsilon(1e-9));
  CHECK(allowed[2] == testing::approx(allowed[1]).epsilon(1e-9));
}

TEST_CASE("judge_capture: a channel is found by the name it was asked for") {
  const Timebase timebase = stated(2);
  CaptureResult capture = clock_off_by(0, timebase);
  capture.channels.front().name = "bench.dut.clk_out";
  const auto not_asked =
      judge_capture(thirty_ppm("clk_out"), capture, timebase);
  REQUIRE(not_asked);
  CHECK(not_asked->at(0).decision == Decision::kFail);
  capture.channels.front().asked = {"clk_out"};
  const auto asked = judge_capture(thirty_ppm("clk_out"), capture, timebase);
  REQUIRE(asked);
  CHECK(asked->at(0).decision == Decision::kPass);
}
