// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/plan/capture_plan.h"

#include <doctest/doctest.h>

#include <cmath>
#include <random>
#include <string>

#include "clockassay/capture/capture_writer.h"
#include "clockassay/uncertainty/error_distribution.h"
#include "support/load_vectors.h"
#include "verdict/aliasing.h"

namespace clockassay {
namespace {

using testing::check_vector;
using testing::input;
using testing::plan_vector;
using testing::plan_vectors;

CapturePlanInput asked(const char* expect, const char* tolerance,
                       std::int64_t rate_hz) {
  CapturePlanInput in;
  in.expect = parse_clock_path(expect).value();
  in.tolerance = parse_tolerance(tolerance).value();
  in.sample_rate_hz = Rational(rate_hz);
  return in;
}

void state(CapturePlanInput& in, double ppm) {
  in.timebase = {TimebaseKind::kStated, Ppm(0.0), Ppm(ppm)};
}

TEST_CASE("plan_capture: an unstated timebase decides no 30 ppm") {
  const CapturePlan plan =
      plan_capture(asked("24MHz / 2 / 16", "30ppm", 100'000'000));
  CHECK_FALSE(plan.decidable);
  CHECK(plan.limited_by == CaptureLimit::kTimebase);
  CHECK_FALSE(plan.shortest);  // no length helps
  CHECK_FALSE(plan.zones.passes);
  // 100 ppm assumed, 95 %.
  CHECK(plan.timebase_U.value() == doctest::Approx(95.0));
  // What would: U down to half of 30 ppm.
  REQUIRE(plan.cures.timebase);
  CHECK(expanded_half_width({plan.cures.timebase->value(), 0.0}, 0.95) <= 15.0);
  REQUIRE(plan.cures.reference);
  REQUIRE(plan.cures.calibration);
  CHECK(*plan.cures.calibration < *plan.cures.timebase);
}

TEST_CASE("plan_capture: a calibrated timebase does, and zones are U apart") {
  CapturePlanInput in = asked("24MHz / 2 / 16", "30ppm", 100'000'000);
  state(in, 2.0);
  const CapturePlan plan = plan_capture(in);
  CHECK(plan.decidable);
  const double u = plan.expanded.value();
  const auto pass = plan.zones.passes;
  REQUIRE(pass);
  CHECK(pass->high_ppm == doctest::Approx(30 - u));
  CHECK(pass->low_ppm == doctest::Approx(-30 + u));
  CHECK(plan.zones.fails->high_ppm == doctest::Approx(30 + u));
  // The length leaves a 32nd of the limits at worst, whatever locks.
  CHECK(1e6 / (plan.duration.value() * 100e6) <= 30.0 / 32.0);
  CHECK(plan.capture_U.value() <= 30.0 / 32.0);
  REQUIRE(plan.shortest);
  CHECK(*plan.shortest < plan.duration);
  // 400 samples are three periods.
  REQUIRE(plan.few_phases);
  CHECK(plan.few_phases->periods == 3);
}

TEST_CASE("plan_capture: asymmetric limits") {
  CapturePlanInput in = asked("100MHz", "-5300ppm..300ppm", 500'000'000);
  const CapturePlan plan = plan_capture(in);
  CHECK(plan.decidable);
  const auto pass = plan.zones.passes;
  REQUIRE(pass);
  CHECK(pass->low_ppm > -5300);
  CHECK(pass->high_ppm < 300);
}

TEST_CASE("plan_capture: a reference takes the place of the timebase") {
  CapturePlanInput in = asked("12MHz", "5ppm", 24'000'000);
  in.expect = parse_clock_path("1MHz").value();
  const CapturePlan without = plan_capture(in);
  CHECK_FALSE(without.decidable);
  in.reference_tolerance = Ppm(0.5);
  const CapturePlan with = plan_capture(in);
  CHECK(with.decidable);
  CHECK(with.timebase_U.value() == doctest::Approx(0.475));
  // The reference is as uncertain in the capture as the clock may be.
  CHECK(with.capture_U.value() >=
        std::sqrt(2.0) * 0.99 * with.width.half_width.value());
}

TEST_CASE("plan_capture: too few samples a period, and where it is seen") {
  // H30, derived, exact: |f - k fs|.
  for (const auto& row : plan_vectors()) {
    if (row["formula"] != "alias") continue;
    const std::string f = row["inputs"]["f"]["value"].dump() + "MHz";
    const CapturePlan plan = plan_capture(
        asked(f.c_str(), "100ppm",
              static_cast<std::int64_t>(input(row, "fs")) * 1'000'000));
    CHECK_FALSE(plan.decidable);
    CHECK(plan.limited_by == CaptureLimit::kSampleRate);
    REQUIRE(plan.seen_hz);
    check_vector(row, "alias", plan.seen_hz->to_double() / 1e6);
    REQUIRE(plan.needed_rate_hz);
    CHECK(plan.needed_rate_hz->to_double() >= 4e6 * input(row, "f"));
  }
}

TEST_CASE("plan_capture: a clock of the path that looks the same") {
  // 60 MHz / 6 = 10 MHz at 50 MS/s: the source itself, 60 MHz, is seen at
  // 60 - 50 = 10 MHz.
  CapturePlanInput in = asked("60MHz / 6", "100ppm", 50'000'000);
  state(in, 5.0);
  const CapturePlan plan = plan_capture(in);
  CHECK_FALSE(plan.decidable);
  CHECK(plan.limited_by == CaptureLimit::kAliasing);
  REQUIRE(plan.alias);
  CHECK(plan.alias->always);
  REQUIRE(plan.alias->telling_rate_hz);
  in.sample_rate_hz = *plan.alias->telling_rate_hz;
  CHECK(plan_capture(in).decidable);
}

TEST_CASE("plan_capture: too short is said, with what is long enough") {
  CapturePlanInput in = asked("1MHz", "5ppm", 24'000'000);
  state(in, 0.5);
  in.duration = Seconds(1e-3);  // 41.7 ppm at worst
  const CapturePlan plan = plan_capture(in);
  CHECK_FALSE(plan.decidable);
  CHECK(plan.limited_by == CaptureLimit::kSampling);
  REQUIRE(plan.shortest);
  in.duration = plan.shortest;
  CHECK(plan_capture(in).decidable);
  // Two cycles are no frequency.
  in.duration = Seconds(2e-6);
  CHECK(plan_capture(in).limited_by == CaptureLimit::kDuration);
}

TEST_CASE("plan_capture: a better rate is better, and about as fast") {
  // 1 MHz at 24 MS/s: 24 samples a period, locked.
  CapturePlanInput in = asked("1MHz", "5ppm", 24'000'000);
  state(in, 0.1);
  const CapturePlan plan = plan_capture(in);
  REQUIRE(plan.few_phases);
  CHECK(plan.few_phases->periods == 1);
  // Round rates all lock to it somewhere in the band: the even one is named.
  CHECK_FALSE(plan.better_rate_hz);
  REQUIRE(plan.even_rate);
  CHECK(plan.even_rate->value() == plan.few_phases->better_rate.value());
  // 12 MHz: 100 MS/s are 25/3 of it, 125 MS/s are 125/12, twelve phases.
  CapturePlanInput other = asked("12MHz", "30ppm", 100'000'000);
  state(other, 0.1);
  const CapturePlan better = plan_capture(other);
  REQUIRE(better.better_rate_hz);
  CHECK(*better.better_rate_hz == Rational(125'000'000));
  CHECK(better.better_half_width->value() <=
        0.5 * better.width.half_width.value());
  CHECK_FALSE(better.even_rate);
  other.sample_rate_hz = *better.better_rate_hz;
  other.duration = better.duration;
  CHECK(plan_capture(other).width.half_width.value() ==
        doctest::Approx(better.better_half_width->value()));
}

TEST_CASE("plan_capture: three samples a period are too few for any clock") {
  // Above 8 MHz a period is less than three samples of 24 MS/s; at 8 MHz all
  // high times may be one sample long.
  for (const double timebase : {0.1, 2.0, 100.0}) {
    CapturePlanInput in = asked("8MHz", "30ppm", 24'000'000);
    state(in, timebase);
    const CapturePlan plan = plan_capture(in);
    CHECK_FALSE(plan.decidable);
    CHECK(plan.limited_by == CaptureLimit::kSampleRate);
    CHECK_FALSE(plan.zones.sure_pass);
    CHECK_FALSE(plan.zones.sure_fail);
    REQUIRE(plan.needed_rate_hz);
    CHECK(plan.needed_rate_hz->to_double() >= 32e6);
    in.sample_rate_hz = *plan.needed_rate_hz;
    CHECK(plan_capture(in).pulses.told);
  }
  // 3.06 samples, but 2.94 of a clock that is 4 % fast.
  CapturePlanInput wide = asked("1MHz", "5%", 3'060'000);
  CHECK(plan_capture(wide).limited_by == CaptureLimit::kSampleRate);
  wide.tolerance = parse_tolerance("100ppm").value();
  state(wide, 1.0);
  CHECK(plan_capture(wide).pulses.told);
}

TEST_CASE("plan_capture: the shorter half has to be seen") {
  // 30 % of 3.3 samples are 0.99; of 4.3 they are 1.29, of which 29 in 100 are
  // two samples long.
  CapturePlanInput in = asked("1MHz", "100ppm", 3'300'000);
  state(in, 1.0);
  CHECK(plan_capture(in).pulses.told);
  in.duty = DutyRange{0.3, 0.3};
  CHECK_FALSE(plan_capture(in).pulses.told);
  in.sample_rate_hz = Rational(4'371'000);
  CHECK(plan_capture(in).pulses.told);
  // Low times count as well.
  in.duty = DutyRange{0.5, 0.8};
  CHECK_FALSE(plan_capture(in).pulses.told);
  // A whole number of samples: 0.4 of four are 1.6, and where the first edge
  // falls so that it is one, all are; 0.5 of four are two.
  in.sample_rate_hz = Rational(4'000'000);
  in.duty = DutyRange{0.4, 0.4};
  CHECK_FALSE(plan_capture(in).pulses.told);
  in.duty = DutyRange{0.5, 0.5};
  CHECK(plan_capture(in).pulses.told);
}

TEST_CASE("plan_capture: jitter that makes periods uneven decides nothing") {
  // 1 MHz, 100 samples: a quarter of a period less a sample is 240 ns, over
  // sqrt(2) z for one in 2 N periods at 95 %.
  CapturePlanInput in = asked("1MHz", "300ppm", 100'000'000);
  state(in, 5.0);
  in.duration = Seconds(1e-3);
  in.jitter = Seconds(70e-9);
  const CapturePlan plan = plan_capture(in);
  CHECK_FALSE(plan.decidable);
  CHECK(plan.too_much_jitter);
  CHECK(plan.limited_by == CaptureLimit::kJitter);
  CHECK_FALSE(plan.zones.sure_pass);
  // N = 998: the normal quantile of 0.05/(4 N), 4.21: 240/(4.21 sqrt(2)) = 40.
  CHECK(plan.most_jitter.value() == doctest::Approx(40e-9).epsilon(0.02));
  in.jitter = Seconds(39e-9);
  CHECK(plan_capture(in).decidable);
  // Many periods of it are no clock at all.
  in.jitter = Seconds(300.0);
  in.duration.reset();
  CHECK_FALSE(plan_capture(in).decidable);
}

TEST_CASE("plan_capture: all that is named together is enough") {
  const unsigned seed = 20250122;
  CAPTURE(seed);
  std::mt19937_64 random(seed);
  const auto scale = [&](double low, double high) {
    const double part =
        std::uniform_real_distribution<double>(0.0, 1.0)(random);
    return low * std::pow(high / low, part);
  };
  int both = 0;
  int alone = 0;
  int rates = 0;
  for (int i = 0; i < 400; ++i) {
    CAPTURE(i);
    const std::string limits = std::to_string(scale(5.0, 500.0)) + "ppm";
    CapturePlanInput in =
        asked("12MHz", limits.c_str(), i % 2 == 0 ? 100'000'000 : 90'000'000);
    state(in, scale(0.5, 200.0));
    in.duration = Seconds(scale(5e-6, 1e-1));
    if (i % 4 == 1) in.reference_tolerance = Ppm(scale(0.1, 50.0));
    if (i % 5 == 1) in.jitter = Seconds(1e-10);
    const CapturePlan plan = plan_capture(in);
    const CaptureCures& cures = plan.cures;
    const double aim = 0.25 * (plan.high_ppm - plan.low_ppm);
    if (plan.expanded.value() <= aim) continue;
    const auto left = [&](bool rate, bool timebase) {
      CapturePlanInput then = in;
      if (rate) {
        then.sample_rate_hz =
            Rational(static_cast<std::int64_t>(cures.sample_rate->value()));
      } else if (cures.duration) {
        then.duration = cures.duration;
      }
      if (timebase && in.reference_tolerance) {
        then.reference_tolerance = cures.timebase;
      } else if (timebase) {
        then.timebase.tolerance = *cures.timebase;
      }
      return plan_capture(then).expanded.value();
    };
    const bool more = cures.duration.has_value();
    const bool timebase = cures.timebase && !cures.capture_alone;
    CHECK((more || cures.timebase));
    CHECK(left(false, timebase) <= aim);
    if (more && cures.sample_rate) CHECK(left(true, timebase) <= aim);
    both += more && timebase;
    alone += more && cures.capture_alone;
    rates += cures.sample_rate.has_value();
    if (!cures.reference) continue;
    CapturePlanInput beside = in;
    beside.reference_tolerance = cures.reference;
    if (!cures.capture_alone && more) beside.duration = cures.duration;
    CHECK(plan_capture(beside).expanded.value() <= aim);
  }
  CHECK(both > 20);
  CHECK(alone > 20);
  CHECK(rates > 20);
}

TEST_CASE("plan_capture: an alias of some clocks is sure of none") {
  // 60 MHz is seen at 10.0065 MHz at 49.9935 MS/s, 650 ppm off; all are allowed
  // for, a clock fast by 50 ppm looks like it.
  CapturePlanInput in = asked("60MHz / 6", "100ppm", 49'993'500);
  state(in, 5.0);
  const CapturePlan plan = plan_capture(in);
  REQUIRE(plan.alias);
  CHECK_FALSE(plan.alias->always);
  CHECK(plan.decidable);
  CHECK(plan.zones.passes);
  CHECK_FALSE(plan.zones.sure_pass);
}

TEST_CASE("plan_capture: what fails is said where nothing can pass") {
  // 100 ppm assumed and limits of 30: beyond 125 ppm a clock fails.
  const CapturePlan plan = plan_capture(asked("24MHz", "30ppm", 100'000'000));
  CHECK_FALSE(plan.decidable);
  CHECK_FALSE(plan.zones.passes);
  REQUIRE(plan.zones.fails);
  CHECK(plan.zones.fails->high_ppm == doctest::Approx(125).epsilon(0.01));
}

TEST_CASE("plan_capture: enough by the width is less, and as little") {
  // 11.0592 MHz at 100 MS/s: no simple fraction in ±30 ppm.
  CapturePlanInput in = asked("11.0592MHz", "30ppm", 100'000'000);
  state(in, 1.0);
  const CapturePlan plan = plan_capture(in);
  REQUIRE(plan.enough);
  CHECK(*plan.enough < plan.duration);
  in.duration = plan.enough;
  // What the longer one leaves whatever locks: Ts/T.
  CHECK(plan_capture(in).width.half_width.value() <=
        1.05e6 / (plan.duration.value() * 100e6));
  // A year is the longest that is worked out.
  const CapturePlan slow = plan_capture(asked("1Hz", "1ppm", 10));
  CHECK(slow.is_long);
  CHECK(slow.duration.value() <= 3.2e7);
}

TEST_CASE("plan_capture: a reference has its five cycles in the capture") {
  CapturePlanInput in = asked("32.768kHz", "30ppm", 25'000'000);
  in.reference_tolerance = Ppm(0.1);
  const CapturePlan plan = plan_capture(in);
  REQUIRE(plan.slowest_reference);
  CHECK(plan.slowest_reference->value() * plan.duration.value() >= 6.0);
  in.reference_tolerance.reset();
  CHECK_FALSE(plan_capture(in).slowest_reference);
}

TEST_CASE("plan_capture: duty by the samples of a period") {
  // L10a, derived, exact: 25 MHz at 100 MS/s.
  const auto& row = plan_vector("L10a");
  const CapturePlan plan = plan_capture(asked("25MHz", "50ppm", 100'000'000));
  check_vector(row, "single", plan.duty_by_one);
  check_vector(row, "mean_known", plan.duty_by_mean);
}

TEST_CASE("plan_capture: the file is about as large as said") {
  CapturePlanInput in = asked("1MHz", "1000ppm", 24'000'000);
  in.duration = Seconds(0.01);
  const CapturePlan plan = plan_capture(in);
  CHECK(plan.size.samples == doctest::Approx(240'000));
  SimulatedClockOptions options;
  options.frequency_hz = Rational(1'000'000);
  options.sample_rate_hz = Rational(25'000'000);  // 40 ns
  options.duration_s = Rational::make(1, 100);
  const auto capture = simulate_clock(options);
  REQUIRE(capture);
  CHECK(plan.size.level_changes ==
        doctest::Approx(static_cast<double>(capture->edges.size()))
            .epsilon(1e-3));
  // Digits differ: 8 decimals here for 9, times in 10 ns for 1 ns.
  const auto csv = csv_text(*capture, "clk");
  const auto vcd = vcd_text(*capture, "clk");
  REQUIRE(csv);
  REQUIRE(vcd);
  CHECK(plan.size.csv_changes_bytes ==
        doctest::Approx(static_cast<double>(csv->size())).epsilon(0.2));
  CHECK(plan.size.vcd_bytes ==
        doctest::Approx(static_cast<double>(vcd->size())).epsilon(0.2));
}

TEST_CASE("usual_sample_rates: ascending, ends included") {
  const auto rates = usual_sample_rates(1e6, 1e7);
  REQUIRE(rates.size() == 16);
  CHECK(rates.front() == Rational(1'000'000));
  CHECK(rates.back() == Rational(10'000'000));
}

}  // namespace
}  // namespace clockassay
