// SPDX-License-Identifier: GPL-3.0-or-later
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>
#include <random>
#include <string>

#include "clockassay/verdict/verdict.h"
#include "support/approx.h"
#include "unit/verdict/clock_under_test.h"
#include "verdict/requirement_reader.h"

namespace clockassay {
namespace {

bool any_has(const std::vector<std::string>& lines, std::string_view words) {
  for (const std::string& line : lines) {
    if (line.find(words) != std::string::npos) return true;
  }
  return false;
}

TEST_CASE("judge_clock: a good board passes and shows its crystal") {
  const Verdict v = judge_clock(clock_of("24MHz / 2", "30ppm"), {},
                                evidence_of(12e6 * (1 + 5e-6), 2.0));
  CHECK(v.decision == Decision::kPass);
  CHECK(v.clock == "clock output");
  CHECK(v.capture == "board.csv");
  CHECK(*v.channel == "clk_out");
  CHECK(v.expected == "12000000");
  CHECK(v.expected_frequency.value() == 12e6);
  CHECK(v.error->value() == testing::approx(5.0).epsilon(1e-6));
  CHECK(v.implied_source->value() ==
        testing::approx(24e6 * (1 + 5e-6)).epsilon(1e-12));
  CHECK(v.nominal_source.value() == 24e6);
  CHECK(*v.probability_of_conformity == 1.0);
  CHECK(v.causes.empty());
  CHECK(v.advice.empty());
  REQUIRE(v.reasons.size() == 2);
  CHECK(v.reasons[0] ==
        "The clock runs 5.0 ppm fast (mean of 0.01 s); U = 1.9 ppm (95 %); the "
        "limit is ±30 "
        "ppm.");
  CHECK(v.reasons[1] ==
        "Over life it is not judged: the tolerance states neither temperature "
        "nor ageing.");
}

TEST_CASE("judge_clock: near the limit the risk of the decision is said") {
  // U = 0.95 a, a = 2 (the capture's 0.1 ppm hardly counts): a pass up to 28.1.
  // At 28.05 a twentieth of a ppm of the rectangle's four lies outside.
  const auto on = [](double ppm) {
    return judge_clock(clock_of("24MHz / 2", "30ppm"), {},
                       evidence_of(12e6 * (1 + ppm * 1e-6), 2.0));
  };
  const Verdict pass = on(28.05);
  REQUIRE(pass.decision == Decision::kPass);
  REQUIRE(pass.checks[0].specific_risk);
  CHECK(*pass.checks[0].specific_risk ==
        testing::approx(0.05 / 4).epsilon(0.25));
  CHECK(pass.reasons[0].find("The probability that it is outside its limits "
                             "nevertheless is 1.") != std::string::npos);
  const Verdict fail = on(31.95);
  REQUIRE(fail.decision == Decision::kFail);
  CHECK(fail.reasons[0].find("The probability that it is within its limits "
                             "nevertheless is 1.") != std::string::npos);
  // Nothing decided: how probable it is. Half of it on the limit itself.
  const Verdict undecided = on(30);
  REQUIRE(undecided.decision == Decision::kUndecided);
  CHECK(undecided.reasons[0].ends_with(
      "The interval reaches across the limit. The probability that it is "
      "within its limits is 50 %."));
  // Far from the limit it says nothing.
  CHECK(on(5).reasons[0].find("probability") == std::string::npos);
}

TEST_CASE("judge_clock: the former crystal fails and is the first cause") {
  const Verdict v =
      judge_clock(clock_of("24MHz / 2", "30ppm"),
                  {suspect_of("the former crystal", "16MHz", "50ppm")},
                  evidence_of(8e6 * (1 + 20e-6), 2.0));
  CHECK(v.decision == Decision::kFail);
  REQUIRE(!v.causes.empty());
  CHECK(v.causes[0].cause ==
        "the clock comes from the former crystal (16 MHz)");
  CHECK(v.causes[0].rank == 1);
  CHECK(*v.probability_of_conformity == 0.0);
  // 8.00016 / 12 = 0.66668; U is 1.9 ppm of 8 MHz, 1.3 ppm of 12 MHz.
  CHECK(v.reasons[0] ==
        "The pin shows 8.00016 MHz where 12 MHz is expected, 33.332 % slow "
        "(mean of 0.01 s); "
        "U = 1.3 ppm (95 %); the limit is ±30 ppm.");
}

TEST_CASE("judge_clock: wrong load capacitors fail at +60 ppm") {
  const Verdict v = judge_clock(clock_of("24MHz / 2", "30ppm"), {},
                                evidence_of(12e6 * (1 + 60e-6), 2.0));
  CHECK(v.decision == Decision::kFail);
  REQUIRE(v.causes.size() >= 2);
  CHECK(v.causes[0].cause.starts_with("the crystal runs fast"));
  CHECK(v.causes[1].rank > v.causes[0].rank);
  CHECK(v.reasons[0] ==
        "The clock runs 60.0 ppm fast (mean of 0.01 s); U = 1.9 ppm (95 %); "
        "the limit is ±30 "
        "ppm.");
}

TEST_CASE("judge_clock: an assumed timebase leaves a good board undecided") {
  ClockEvidence evidence = evidence_of(12e6 * (1 + 5e-6), 100.0);
  evidence.timebase.kind = TimebaseKind::kAssumed;
  const Verdict v = judge_clock(clock_of("24MHz / 2", "30ppm"), {}, evidence);
  CHECK(v.decision == Decision::kUndecided);
  CHECK(v.causes.empty());
  // Margin 25 ppm, half of it 12.5: 12.5 / 0.95 = 13.2, rounded down 13.
  REQUIRE(!v.advice.empty());
  CHECK(v.advice[0] ==
        "A timebase known to ±13 ppm would decide \"make tolerance, now\" "
        "(now ±100 ppm, assumed): "
        "U must come down from 95 to 12 ppm.");
  CHECK(any_has(v.reasons, "The interval reaches across the limit."));
}

TEST_CASE("judge_clock: a warning that could flip it forbids a pass") {
  ClockEvidence evidence = evidence_of(12e6, 2.0);
  evidence.warnings = {
      {WarningCode::kTimebaseAssumed, "nothing stated"},
      {WarningCode::kSpectralDisagrees, "the spectrum says 11.9 MHz"}};
  const Verdict v = judge_clock(clock_of("24MHz / 2", "30ppm"), {}, evidence);
  CHECK(v.decision == Decision::kUndecided);
  CHECK(v.reasons.back() ==
        "The figures alone would pass, but a warning forbids it: the spectrum "
        "says 11.9 MHz (spectral_check_disagrees).");
  CHECK(v.checks[0].decision == Decision::kPass);
  CHECK(v.causes.empty());
  CHECK(!v.advice.empty());
}

TEST_CASE("judge_clock: a doubtful reading is not said to fail") {
  ClockEvidence evidence = evidence_of(12e6 * (1 + 60e-6), 2.0);
  evidence.warnings = {
      {WarningCode::kUndersampled, "2.1 samples a period"},
      {WarningCode::kTextCoarse, "times are written in steps of 1 us"}};
  const Verdict v = judge_clock(clock_of("24MHz / 2", "30ppm"), {}, evidence);
  CHECK(v.decision == Decision::kUndecided);
  CHECK(v.checks[0].decision == Decision::kFail);
  CHECK(v.reasons.back() ==
        "The figures alone would fail, but the reading is in doubt: times are "
        "written in steps of 1 us (text_coarse).");
  CHECK(!v.advice.empty());
  // Nor where the spectrum does not know the frequency the numbering gave.
  evidence.warnings = {
      {WarningCode::kSpectralDisagrees, "the spectrum says 12 MHz"}};
  CHECK(judge_clock(clock_of("24MHz / 2", "30ppm"), {}, evidence).decision ==
        Decision::kUndecided);
}

TEST_CASE("judge_clock: a warning about the clock does not soften a fail") {
  ClockEvidence evidence = evidence_of(12e6 * (1 + 60e-6), 2.0);
  evidence.warnings = {{WarningCode::kUndersampled, "2.1 samples a period"}};
  const Verdict v = judge_clock(clock_of("24MHz / 2", "30ppm"), {}, evidence);
  CHECK(v.decision == Decision::kFail);
  CHECK(
      v.reasons.back() ==
      "A warning bears on these figures: 2.1 samples a period (undersampled).");
}

TEST_CASE("judge_clock: a clock too fast for the sampler is not said to fail") {
  // 92 MHz seen by 100 MHz looks like 8 MHz: 1.09 samples a period.
  ClockEvidence evidence = evidence_of(8e6, 2.0);
  evidence.sample_interval = Seconds(1e-8);
  const Verdict v = judge_clock(clock_of("92MHz", "30ppm"), {}, evidence);
  CHECK(v.decision == Decision::kUndecided);
  CHECK(v.reasons.back() ==
        "The expected clock would have only 1.09 samples a period: sampled so, "
        "it can look like any slower clock, and no failure is shown.");
  CHECK(
      v.advice.back() ==
      "Capture at a sample rate of at least 276 MHz, such as 400 MHz, where "
      "nothing expected or suspected looks like it, and state it, or route the "
      "clock out through a divider.");
  // With the rate known, where it would be seen is said.
  evidence.sample_rate_hz = Rational(100'000'000);
  const Verdict said = judge_clock(clock_of("92MHz", "30ppm"), {}, evidence);
  CHECK(any_has(
      said.reasons,
      "any slower clock (92 MHz sampled at 100 MHz is seen at 8 MHz, its "
      "distance from the sample rate), and no failure is shown."));
  // Three samples a period do show it.
  evidence.sample_interval = Seconds(1.0 / 276e6);
  CHECK(judge_clock(clock_of("92MHz", "30ppm"), {}, evidence).decision ==
        Decision::kFail);
}

TEST_CASE("judge_clock: a longer stretch that would not fail holds it back") {
  // The last stretch: 60 ppm fast, U = 20; the longer one 40 ppm fast, U = 15:
  // across the limit of 30.
  ClockEvidence evidence = evidence_of(12e6 * (1 + 60e-6), 2.0, 20.0);
  evidence.longest_stretch = {
      Seconds(0.001), Seconds(0.009),
      evidence_of(12e6 * (1 + 40e-6), 2.0, 15.0).budget};
  const Verdict v = judge_clock(clock_of("24MHz / 2", "30ppm"), {}, evidence);
  CHECK(v.decision == Decision::kUndecided);
  CHECK(any_has(v.reasons,
                "from 0.001 s to 0.009 s, is 40 ppm fast with U = "
                "15 ppm and would not"));
  // One that is off as well changes nothing.
  evidence.longest_stretch->budget =
      evidence_of(12e6 * (1 + 50e-6), 2.0, 15.0).budget;
  CHECK(judge_clock(clock_of("24MHz / 2", "30ppm"), {}, evidence).decision ==
        Decision::kFail);
  // Nor does it make a pass of what is undecided.
  evidence.budget = evidence_of(12e6 * (1 + 20e-6), 2.0, 20.0).budget;
  evidence.longest_stretch->budget = evidence_of(12e6, 2.0, 1.0).budget;
  CHECK(judge_clock(clock_of("24MHz / 2", "30ppm"), {}, evidence).decision ==
        Decision::kUndecided);
}

TEST_CASE("judge_clock: periods but for a few hold back a fail, not more") {
  // 48 000 ppm fast, U = 26 000, because nine of 41 periods are short.
  ClockEvidence evidence = evidence_of(12e6 * 1.048, 2.0, 26000.0);
  evidence.steady_periods = {41, 9, Seconds(1.0 / 12e6),
                             Ppm((1.0 / 1.048 - 1.0) * 1e6)};
  const Verdict v = judge_clock(clock_of("24MHz / 2", "30ppm"), {}, evidence);
  CHECK(v.decision == Decision::kUndecided);
  CHECK(any_has(v.reasons, "9 of 41 periods are off the others"));
  bool lost = false;
  for (const Cause& c : v.causes) {
    lost = lost || (c.code == CauseCode::kSamplesLost && c.rank == 1);
  }
  CHECK(lost);
  // The others 40 000 ppm fast themselves.
  evidence.steady_periods->difference = Ppm(-8000.0);
  CHECK(judge_clock(clock_of("24MHz / 2", "30ppm"), {}, evidence).decision ==
        Decision::kFail);
  // Where short ones that do not stand out may be losses, nothing between what
  // was measured and what is left without them may be within.
  evidence.steady_periods->of_no_short = Ppm(-47000.0);
  CHECK(judge_clock(clock_of("24MHz / 2", "30ppm"), {}, evidence).decision ==
        Decision::kUndecided);
  evidence.budget = evidence_of(12e6 * 1.048, 2.0, 50.0).budget;
  evidence.steady_periods->of_no_short = Ppm(-48000.0);
  CHECK(judge_clock(clock_of("24MHz / 2", "30ppm"), {}, evidence).decision ==
        Decision::kUndecided);
  evidence.steady_periods->of_no_short = Ppm(-40000.0);
  CHECK(judge_clock(clock_of("24MHz / 2", "30ppm"), {}, evidence).decision ==
        Decision::kFail);
  // A pass needs what it needed: U does not shrink.
  evidence.budget = evidence_of(12e6, 2.0, 26000.0).budget;
  evidence.steady_periods->difference = Ppm(0.0);
  CHECK(judge_clock(clock_of("24MHz / 2", "30ppm"), {}, evidence).decision ==
        Decision::kUndecided);
}

TEST_CASE("judge_clock: a duty that fails does so whatever the ppm") {
  ClockEvidence evidence = evidence_of(12e6 * (1 + 5000e-6), 2.0);
  // By its steady periods alone, 12 MHz, it would not.
  evidence.steady_periods = {41, 9, Seconds(1.0 / 12e6),
                             Ppm((1.0 / 1.005 - 1.0) * 1e6)};
  CHECK(judge_clock(clock_of("24MHz / 2", "30ppm"), {}, evidence).decision ==
        Decision::kUndecided);
  evidence.duty = DutyEstimate{0.2, 0.01};
  evidence.skew_stated = true;
  ClockSpec clock = clock_of("24MHz / 2", "30ppm");
  clock.duty = DutyBand{0.4, 0.6};
  CHECK(judge_clock(clock, {}, evidence).decision == Decision::kFail);
}

TEST_CASE("judge_clock: a part that is as made may still be too loose") {
  ClockSpec clock = clock_of("25MHz", "100ppm");
  clock.requirements = {requirement_of("an interface", "50ppm")};
  const Verdict v =
      judge_clock(clock, {}, evidence_of(25e6 * (1 + 80e-6), 2.0));
  CHECK(v.decision == Decision::kFail);
  CHECK(v.checks[0].decision == Decision::kPass);
  REQUIRE(v.causes.size() == 1);
  CHECK(v.causes[0].cause ==
        "the source keeps its own tolerance, but an interface asks for more");
  CHECK(!v.causes[0].if_true.empty());
  CHECK(any_has(v.reasons,
                "an interface: the limit is ±50 ppm (a standard, 1.2): fail."));
}

TEST_CASE("judge_clock: a part too loose for several is one cause") {
  ClockSpec clock = clock_of("25MHz", "100ppm");
  clock.tolerance.temperature = band_of("10ppm");
  clock.requirements = {requirement_of("an interface", "50ppm"),
                        requirement_of("another", "30ppm"),
                        requirement_of("a wide one", "200ppm")};
  const Verdict v =
      judge_clock(clock, {}, evidence_of(25e6 * (1 + 80e-6), 2.0));
  CHECK(v.decision == Decision::kFail);
  REQUIRE(v.causes.size() == 1);
  CHECK(v.causes[0].cause ==
        "the source keeps its own tolerance, but an interface and another ask "
        "for more");
  CHECK(v.causes[0].evidence ==
        std::vector<std::string>{
            "Within ±100 ppm as specified, outside ±50 ppm (an interface).",
            "Within ±100 ppm as specified, outside ±30 ppm (another)."});
}

TEST_CASE(
    "judge_clock: bands wider than the limits are said to be the reason") {
  ClockSpec clock = clock_of("25MHz", "20ppm");
  clock.tolerance.temperature = band_of("40ppm");
  clock.tolerance.ageing = band_of("15ppm");
  clock.requirements = {requirement_of("an interface", "50ppm")};
  const Verdict v = judge_clock(clock, {}, evidence_of(25e6, 2.0));
  CHECK(v.decision == Decision::kUndecided);
  REQUIRE(v.advice.size() == 1);
  CHECK(v.advice[0] ==
        "an interface, over temperature and ageing: temperature and ageing "
        "alone span more than the limits leave, so no measurement can pass it: "
        "choose a source with tighter bands.");
}

TEST_CASE("judge_clock: over life a probability next to none is said as well") {
  ClockSpec clock = clock_of("25MHz", "20ppm");
  clock.tolerance.temperature = band_of("60ppm");
  clock.requirements = {requirement_of("an interface", "50ppm")};
  const Verdict v = judge_clock(clock, {}, evidence_of(25e6, 2.0));
  CHECK(any_has(v.reasons,
                "The probability that it stays within its limits, whatever "
                "temperature and ageing do, is below 0.01 %."));
}

TEST_CASE("judge_clock: what may come over life is there share by share") {
  ClockSpec clock = clock_of("24MHz / 2", "30ppm");
  CHECK_FALSE(judge_clock(clock, {}, evidence_of(12e6, 2.0)).life);
  clock.tolerance.temperature = band_of("30ppm");
  const Verdict v = judge_clock(clock, {}, evidence_of(12e6, 2.0));
  REQUIRE(v.life);
  CHECK(v.life->altogether.high.value() ==
        testing::approx(30 + v.expanded_uncertainty->value()));
}

TEST_CASE("judge_clock: over life the room that is left is named") {
  ClockSpec clock = clock_of("25MHz", "20ppm");
  clock.tolerance.temperature = band_of("40ppm");
  clock.requirements = {requirement_of("an interface", "50ppm")};
  const Verdict v =
      judge_clock(clock, {}, evidence_of(25e6 * (1 + 15e-6), 2.0));
  CHECK(v.decision == Decision::kUndecided);
  REQUIRE(v.advice.size() == 1);
  CHECK(v.advice[0] ==
        "an interface, over temperature, ageing not stated: to hold over life "
        "the clock must now lie within ±10 ppm: centre it, or choose a source "
        "with tighter bands.");
}

TEST_CASE("judge_clock: a frequency nothing explains is said to be one") {
  const Verdict v =
      judge_clock(clock_of("24MHz / 2", "30ppm"), {}, evidence_of(10.3e6, 2.0));
  CHECK(v.decision == Decision::kFail);
  // Nothing but what fits anything.
  for (const Cause& cause : v.causes) {
    CHECK(cause.code == CauseCode::kRcOscillator);
  }
  CHECK(any_has(v.reasons, "Nothing exact explains it."));
  CHECK(!v.advice.empty());
}

TEST_CASE("judge_clock: figures that are no numbers are undecided") {
  const double infinity = std::numeric_limits<double>::infinity();
  for (const double bad : {std::nan(""), infinity, -infinity, 0.0, -1.0}) {
    ClockEvidence value = evidence_of(12e6, 2.0);
    value.budget.frequency.value = Hertz(bad);
    ClockEvidence U = evidence_of(12e6, 2.0);
    U.budget.expanded_ppm = Ppm(bad);
    ClockEvidence shape = evidence_of(12e6, 2.0);
    shape.budget.error_ppm = {bad, 0.0};
    CAPTURE(bad);
    for (const ClockEvidence& evidence : {value, U, shape}) {
      const Verdict v =
          judge_clock(clock_of("24MHz / 2", "30ppm"), {}, evidence);
      CHECK(v.decision == Decision::kUndecided);
      CHECK_FALSE(v.error);
      CHECK_FALSE(v.probability_of_conformity);
      CHECK(any_has(v.reasons, "not a usable number"));
    }
  }
}

namespace {

/// P(X <= x) of a rectangle of half-width a and a normal part of deviation s:
/// the convolution of both in closed form.
double chance_below(double x, double a, double s) {
  const auto integral_of_normal = [](double z) {
    const double density =
        std::exp(-0.5 * z * z) / std::sqrt(2.0 * std::numbers::pi);
    return 0.5 * z * std::erfc(-z / std::numbers::sqrt2) + density;
  };
  return 0.5 * s / a *
         (integral_of_normal((x + a) / s) - integral_of_normal((x - a) / s));
}

/// U with P(|X| <= U) = 95 %, by bisection.
double half_width_of(double a, double s) {
  double low = 0.0;
  double high = a + 10.0 * s;
  for (int i = 0; i < 60; ++i) {
    const double middle = 0.5 * (low + high);
    (chance_below(-middle, a, s) > 0.025 ? low : high) = middle;
  }
  return 0.5 * (low + high);
}

}  // namespace

TEST_CASE("judge_clock: boards beyond a limit pass as often as U says") {
  // Of boards off the limit by so many U the accepted are counted against the
  // binomial band of what rectangle and normal error make of it, worked out
  // here; 4.5 standard deviations. A U too small accepts more, one too large
  // fewer.
  struct Errors {
    double a;  // the timebase, within which it is anywhere
    double s;  // of the capture
  };
  constexpr unsigned kSeed = 77;
  constexpr int kBoards = 1200;
  CAPTURE(kSeed);
  std::mt19937_64 random(kSeed);
  std::uniform_real_distribution<double> rectangle(-1, 1);
  std::normal_distribution<double> normal;
  const ClockSpec clock = clock_of("12MHz", "30ppm");
  for (const Errors& error :
       {Errors{4.0, 0.05}, Errors{4.0, 2.0}, Errors{0.05, 3.0}}) {
    const double U = half_width_of(error.a, error.s);
    for (const double beyond : {-1.5, -1.0, -0.5, 0.0, 0.3, 2.01}) {
      CAPTURE(error.a);
      CAPTURE(error.s);
      CAPTURE(beyond);
      const double truth = 30.0 + beyond * U;
      int accepted = 0;
      for (int i = 0; i < kBoards; ++i) {
        const double seen =
            truth + error.a * rectangle(random) + error.s * normal(random);
        const ClockEvidence evidence =
            evidence_of(12e6 * (1 + seen * 1e-6), error.a, 1.959964 * error.s);
        accepted +=
            judge_clock(clock, {}, evidence).decision == Decision::kPass;
      }
      const double p = chance_below(-beyond * U - U, error.a, error.s);
      const double band = 4.5 * std::sqrt(kBoards * p * (1.0 - p));
      CHECK(std::abs(accepted - kBoards * p) <= band + 0.5);
    }
  }
}

TEST_CASE("judge_missing_clock: fails, with what to look at first") {
  ClockSpec clock = clock_of("24MHz / 2", "30ppm");
  clock.channel = "clk_out";
  const Verdict v =
      judge_missing_clock(clock, "board.csv", "channel clk_out stays low");
  CHECK(v.decision == Decision::kFail);
  CHECK(v.capture == "board.csv");
  CHECK(*v.channel == "clk_out");
  CHECK_FALSE(v.error);
  CHECK_FALSE(v.implied_source);
  CHECK_FALSE(v.probability_of_conformity);
  CHECK(v.expected == "12000000");
  CHECK(v.reasons == std::vector<std::string>{"channel clk_out stays low"});
  REQUIRE(v.checks.size() == 1);
  CHECK(v.checks[0].decision == Decision::kFail);
  CHECK_FALSE(v.checks[0].value);
  CHECK(v.causes.size() == 3);
  for (const Cause& cause : v.causes) CHECK(!cause.if_true.empty());
}

TEST_CASE("judge_clock: what the clock behaves like is said with a fail") {
  ClockEvidence evidence = evidence_of(12e6 * (1 + 60e-6), 2.0);
  evidence.character = OscillatorCharacter{CharacterKind::kCrystalLike,
                                           {"it wanders by 2e-08", "no lines"}};
  const std::string said =
      "The clock behaves like one of a crystal: it wanders by 2e-08; no lines.";
  const ClockSpec clock = clock_of("24MHz / 2", "30ppm");
  CHECK(judge_clock(clock, {}, evidence).reasons.back() == said);
  // Nobody asks why of a pass, and what cannot be told is not said.
  evidence.budget = evidence_of(12e6, 2.0).budget;
  CHECK_FALSE(any_has(judge_clock(clock, {}, evidence).reasons, "behaves"));
  evidence = evidence_of(12e6 * (1 + 60e-6), 2.0);
  evidence.character =
      OscillatorCharacter{CharacterKind::kCannotTell, {"too few cycles"}};
  CHECK_FALSE(any_has(judge_clock(clock, {}, evidence).reasons, "behaves"));
}

TEST_CASE("judge_clock: a spread about a mean that is right is the cause") {
  // Undecided for the timebase; the mean is 5 ppm off, the clock by 2500.
  ClockEvidence evidence = evidence_of(12e6 * (1 + 5e-6), 100.0);
  // An output beside it whose mean is right as well says nothing of it.
  evidence.others = {{"other", true, 1, true, true, Ppm(), Ppm(), Ppm(), {}}};
  evidence.spread = SpreadSpectrum{
      Hertz(31e3),          Hertz(1.0),     Ppm(5000.0),   Ppm(5.0),
      SpreadProfile::kSine, Hertz(11.97e6), Hertz(12.03e6)};
  const Verdict v = judge_clock(clock_of("24MHz / 2", "30ppm"), {}, evidence);
  CHECK(v.decision == Decision::kUndecided);
  REQUIRE(v.causes.size() == 1);
  CHECK(v.causes[0].code == CauseCode::kSpreadSpectrum);
  CHECK(v.causes[0].rank == 1);
  CHECK(v.causes[0].evidence[0] ==
        "The frequency goes up and down by 2500.0 ppm either way of its mean: "
        "the expected one is in the middle.");
  CHECK_FALSE(any_has(v.causes[0].evidence, "Against it"));
  // A tolerance that allows it asks for no cause.
  CHECK(
      judge_clock(clock_of("24MHz / 2", "0.3%"), {}, evidence).causes.empty());
}

}  // namespace
TEST_CASE("judge_clock: what keeps time is held against the pulses as well") {
  // 1.728 s a day are 20 ppm. Where cycles are missing by 25 ppm, the periods
  // keep the limit and the count does not; by 5 ppm both do; and where the
  // periods run 25 ppm fast, the count alone keeps it.
  const auto judged = [](double periods_ppm, double as_captured_ppm) {
    ClockSpec clock = clock_of("32.768kHz", "100ppm");
    const auto asked = read_requirement_option("time-keeping,per_day=1.728s");
    REQUIRE(asked);
    clock.requirements = {*asked};
    ClockEvidence evidence =
        evidence_of(32768.0 * (1.0 + periods_ppm * 1e-6), 1.0);
    evidence.as_captured = Ppm(as_captured_ppm);
    return judge_clock(clock, {}, evidence).decision;
  };
  CHECK(judged(0.0, 0.0) == Decision::kPass);
  CHECK(judged(0.0, -5.0) == Decision::kPass);
  CHECK(judged(0.0, -25.0) == Decision::kUndecided);
  CHECK(judged(25.0, 0.0) == Decision::kFail);
  CHECK(judged(25.0, -25.0) == Decision::kUndecided);
  CHECK(judged(25.0, 25.0) == Decision::kFail);
}

TEST_CASE("judge_clock: a pass of periods says how the pulses run") {
  ClockEvidence evidence = evidence_of(12e6, 1.0);
  const ClockSpec clock = clock_of("12MHz", "20ppm");
  const auto says_it = [&] {
    const Verdict verdict = judge_clock(clock, {}, evidence);
    CHECK(verdict.decision == Decision::kPass);
    return std::any_of(verdict.reasons.begin(), verdict.reasons.end(),
                       [](const std::string& reason) {
                         return reason.find("Pulses as captured come") !=
                                std::string::npos;
                       });
  };
  CHECK_FALSE(says_it());
  evidence.as_captured = Ppm(-15.0);
  CHECK_FALSE(says_it());
  evidence.as_captured = Ppm(-150.0);
  CHECK(says_it());
}

TEST_CASE("judge_clock: swallowed pulses are named before a crystal is") {
  // 122 ppm fast by its periods, every 8192nd pulse dropped.
  ClockEvidence evidence = evidence_of(32768.0 * (1.0 + 122e-6), 1.0);
  evidence.as_captured = Ppm(-1e6 / 8192.0);
  evidence.regular_repairs = RegularRepairs{};
  evidence.warnings = {{WarningCode::kEdgesRepaired, "7 lost"},
                       {WarningCode::kRepairsRegular, "7 at even intervals"}};
  const Verdict verdict =
      judge_clock(clock_of("32.768kHz", "20ppm"), {}, evidence);
  CHECK(verdict.decision == Decision::kUndecided);
  REQUIRE(verdict.causes.size() > 1);
  CHECK(verdict.causes.front().code == CauseCode::kPulsesSwallowed);
  REQUIRE(verdict.causes.front().expected);
  // (1 + 122e-6)(1 - 1/8192) is 1 to 0.1 ppm.
  CHECK(verdict.causes.front().expected->value() ==
        testing::approx(32768.0).epsilon(1e-7));
  // A sampler too slow for the pulses misses them in step.
  evidence.warnings.push_back({WarningCode::kNarrowPulses, "one sample long"});
  for (const Cause& cause :
       judge_clock(clock_of("32.768kHz", "20ppm"), {}, evidence).causes) {
    CHECK(cause.code != CauseCode::kPulsesSwallowed);
  }
}

TEST_CASE("judge_clock: a sample rate that is not seen is asked for first") {
  ClockEvidence evidence = evidence_of(12e6, 1.0);
  evidence.warnings = {{WarningCode::kSamplingNotVisible, "not visible"}};
  const ClockSpec clock = clock_of("12MHz", "20ppm");
  CHECK(any_has(judge_clock(clock, {}, evidence).advice, "--sample-rate"));
  evidence.warnings.push_back({WarningCode::kRepairDoubtful, "doubtful"});
  CHECK_FALSE(
      any_has(judge_clock(clock, {}, evidence).advice, "--sample-rate"));
}

}  // namespace clockassay
