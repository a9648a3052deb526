// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/plan/capture_plan.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <random>
#include <string>

#include "clockassay/capture/capture_writer.h"
#include "clockassay/uncertainty/error_distribution.h"
#include "plan/capture_jitter.h"
#include "support/approx.h"
#include "support/load_vectors.h"
#include "unit/plan/questions.h"
#include "verdict/aliasing.h"

namespace clockassay {
namespace {

using testing::asked;
using testing::check_vector;
using testing::input;
using testing::plan_vector;
using testing::plan_vectors;
using testing::state;

TEST_CASE("plan_capture: an unstated timebase decides no 30 ppm") {
  const CapturePlan plan =
      plan_capture(asked("24MHz / 2 / 16", "30ppm", 100'000'000));
  CHECK_FALSE(plan.decidable);
  CHECK(plan.limited_by == CaptureLimit::kTimebase);
  CHECK_FALSE(plan.shortest);  // no length helps
  CHECK_FALSE(plan.zones.passes);
  // 100 ppm assumed, 95 %.
  CHECK(plan.timebase_U.value() == testing::approx(95.0));
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
  CHECK(pass->high_ppm == testing::approx(30 - u));
  CHECK(pass->low_ppm == testing::approx(-30 + u));
  CHECK(plan.zones.fails->high_ppm == testing::approx(30 + u));
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
  CHECK(with.timebase_U.value() == testing::approx(0.475));
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
  CHECK(better.better_U->value() <= 0.5 * better.capture_U.value());
  CHECK_FALSE(better.even_rate);
  other.sample_rate_hz = *better.better_rate_hz;
  other.duration = better.duration;
  CHECK(plan_capture(other).capture_U.value() ==
        testing::approx(better.better_U->value()));
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

TEST_CASE("plan_capture: jitter that makes periods uneven") {
  // 1 MHz, N = 998 periods. At the fast end of the limits a period is 99.97
  // samples: seen as 125 or more, or as 74 or fewer, one is uneven, 24.53 and
  // 25.47 off in the middle. N (Q(24.53/s) + Q(25.47/s)) = -ln 0.95 at
  // s = 6.15, over sqrt(2) 4.35 samples.
  CapturePlanInput in = asked("1MHz", "300ppm", 100'000'000);
  state(in, 5.0);
  in.duration = Seconds(1e-3);
  in.jitter = Seconds(70e-9);
  const CapturePlan plan = plan_capture(in);
  CHECK_FALSE(plan.decidable);
  CHECK(plan.too_much_jitter);
  CHECK(plan.limited_by == CaptureLimit::kJitter);
  CHECK_FALSE(plan.zones.sure_pass);
  CHECK(std::abs(plan.most_jitter.value() / 43.5e-9 - 1.0) <= 0.01);
  in.jitter = Seconds(43e-9);
  const CapturePlan below = plan_capture(in);
  CHECK(below.decidable);
  CHECK(below.zones.sure_pass);
  // Some captures have one and most have none: decidable, and sure of nothing.
  in.jitter = Seconds(47e-9);
  const CapturePlan some = plan_capture(in);
  CHECK(some.decidable);
  CHECK(some.uneven > 0.05);
  CHECK(some.uneven < 0.5);
  CHECK_FALSE(some.zones.sure_pass);
  CHECK_FALSE(some.zones.likely_pass);
  // Many periods of it are no clock at all.
  in.jitter = Seconds(300.0);
  in.duration.reset();
  CHECK_FALSE(plan_capture(in).decidable);
}

TEST_CASE("share_uneven: as often as captures made by hand") {
  // Edges of normal jitter, each seen by the next sample; 400 captures: four
  // sigma of a share are at most 4 sqrt(0.25/400) = 0.1.
  const unsigned seed = 20261201;
  CAPTURE(seed);
  std::mt19937_64 random(seed);
  for (const double period : {100.0, 33.3, 7.7, 4.3}) {
    for (const double part : {0.8, 1.0, 1.25}) {
      CapturePlanInput in = asked("1MHz", "30ppm", 1);
      in.sample_rate_hz = Rational(std::llround(period * 1e6));
      state(in, 0.0);
      in.duration = Seconds(202e-6);
      const CapturePlan plan = plan_capture(in);
      const int n = static_cast<int>(plan.width.cycles);
      const double sigma =
          part * 1e6 * period * plan.most_jitter.value() * 1.15;
      std::normal_distribution<double> edge(0.0, sigma);
      std::uniform_real_distribution<double> phase(0.0, 1.0);
      constexpr int kCaptures = 400;
      int uneven = 0;
      for (int c = 0; c < kCaptures; ++c) {
        const double begin = phase(random);
        bool bad = false;
        double last = 0.0;
        for (int k = 0; k <= n; ++k) {
          const double rise = std::ceil(begin + k * period + edge(random));
          const double fall =
              std::ceil(begin + (k + 0.5) * period + edge(random));
          const double off = std::abs(rise - last - period);
          const double allowed =
              std::max(0.25 * period, std::min(2.0, 0.45 * period));
          bad = bad || (k > 0 && off > allowed) || fall <= rise;
          last = rise;
        }
        uneven += bad;
      }
      CAPTURE(period);
      CAPTURE(sigma);
      const double share = share_uneven(plan, plan.width.cycles,
                                        Seconds(sigma / (1e6 * period)));
      CHECK(std::abs(static_cast<double>(uneven) / kCaptures - share) <= 0.1);
    }
  }
}

TEST_CASE(
    "plan_capture: a reference whose frequency is stated has its cycles") {
  // A pulse a second: five cycles and one for the ends, 6 s by a timebase that
  // may be 20 ppm fast.
  CapturePlanInput in = asked("12MHz", "30ppm", 100'000'000);
  state(in, 20.0);
  in.reference_tolerance = Ppm(0.1);
  const CapturePlan open = plan_capture(in);
  CHECK(open.decidable);
  CHECK(open.duration < Seconds(0.1));
  in.reference_hz = Rational(1);
  const CapturePlan plan = plan_capture(in);
  CHECK(plan.decidable);
  CHECK(plan.duration >= Seconds(6.0));
  REQUIRE(plan.reference_needs);
  CHECK(*plan.reference_needs >= Seconds(6.0));
  REQUIRE(plan.needed);
  CHECK(plan.needed->duration >= *plan.reference_needs);
  // As long as the other plan: no cycle of it at all.
  in.duration = open.duration;
  const CapturePlan short_one = plan_capture(in);
  CHECK_FALSE(short_one.decidable);
  CHECK(short_one.reference_fails);
  CHECK(short_one.limited_by == CaptureLimit::kDuration);
  CHECK_FALSE(short_one.zones.fails);
  // Its first edge to its last is all that it is measured by: of 5.5 s and
  // 0.4 Hz one period.
  in.reference_hz = Rational(10);
  in.duration = Seconds(1.05);
  const CapturePlan ten = plan_capture(in);
  CHECK(ten.decidable);
  // Ten cycles less one are 0.9 s: 1e-8/0.9 at worst, beside the clock's own.
  const double worst = 1e6 * 1e-8 / 0.9 / 1.96;
  CHECK(ten.capture_U.value() >= 1.96 * worst * 0.999);
  // Too fast to be seen.
  in.reference_hz = Rational(40'000'000);
  const CapturePlan fast = plan_capture(in);
  CHECK_FALSE(fast.decidable);
  CHECK(fast.reference_fails);
  CHECK(fast.limited_by == CaptureLimit::kSampleRate);
  // Four samples a period: 160 MHz and more, or 25 MHz.
  REQUIRE(fast.needed_rate_hz);
  CHECK(*fast.needed_rate_hz >= Rational(160'000'000));
  REQUIRE(fast.fastest_reference);
  CHECK(fast.fastest_reference->value() ==
        testing::approx(25e6).epsilon(1e-12));
  CHECK_FALSE(fast.cures.duration);
  CHECK_FALSE(fast.cures.sample_rate);
  for (const Rational& hz : {Rational(25'000'000), Rational(33'000'000)}) {
    in.reference_hz = hz;
    CHECK(plan_capture(in).decidable);
  }
  in.reference_hz = Rational(40'000'000);
  in.sample_rate_hz = *fast.needed_rate_hz;
  CHECK(plan_capture(in).decidable);
}

TEST_CASE("plan_capture: the length needed decides, and is far less") {
  CapturePlanInput in = asked("12MHz", "30ppm", 100'000'000);
  state(in, 5.0);
  const CapturePlan plan = plan_capture(in);
  REQUIRE(plan.needed);
  CHECK(plan.needed->duration < 0.3 * plan.duration);
  in.duration = plan.needed->duration;
  const CapturePlan then = plan_capture(in);
  CHECK(then.decidable);
  // U is half of the limits: a clock amid them measures within the other half.
  CHECK(then.expanded.value() <= 15.0);
  CHECK(plan.needed->passes >= 0.95);
  REQUIRE(then.zones.likely_pass);
  CHECK(then.zones.likely_pass->high_ppm ==
        testing::approx(30.0 - 2.0 * then.expanded.value()));
  // A timebase that leaves 0.8 of the limits: no length is sure, and how often
  // one passes is said.
  in.duration.reset();
  state(in, 25.0);
  const CapturePlan poor = plan_capture(in);
  REQUIRE(poor.needed);
  CHECK(poor.needed->passes < 0.5);
  // One that leaves nothing.
  state(in, 40.0);
  CHECK_FALSE(plan_capture(in).needed);
}

TEST_CASE("plan_capture: a day and more is not feasible") {
  CapturePlanInput in = asked("1Hz", "1ppm", 10);
  state(in, 0.1);
  const CapturePlan plan = plan_capture(in);
  CHECK_FALSE(plan.feasible);
  REQUIRE(plan.needed);
  CHECK(plan.needed->duration > Seconds(86400.0));
  // Needed in less than a day, comfortable in more: a day is reckoned with.
  in.sample_rate_hz = Rational(100);
  const CapturePlan day = plan_capture(in);
  CHECK(day.feasible);
  CHECK(day.duration == Seconds(86400.0));
  CHECK(day.needed->duration < day.duration);
  in.sample_rate_hz = Rational(1'000'000);
  CHECK(plan_capture(in).feasible);
}

TEST_CASE("plan_capture: the divider behind which the rate is enough") {
  // 24 MHz at 24 MS/s: four samples a period from 6 MHz on.
  CapturePlanInput in = asked("24MHz", "100ppm", 24'000'000);
  state(in, 5.0);
  const CapturePlan plan = plan_capture(in);
  REQUIRE(plan.needed_divider);
  CHECK(*plan.needed_divider == 4);
  in.expect = parse_clock_path("24MHz / 4").value();
  CHECK(plan_capture(in).pulses.told);
  in.expect = parse_clock_path("24MHz / 2").value();
  CHECK_FALSE(plan_capture(in).pulses.told);
  in.expect = parse_clock_path("1MHz").value();
  CHECK_FALSE(plan_capture(in).needed_divider);
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
  CHECK(plan.zones.fails->high_ppm == testing::approx(125).epsilon(0.01));
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
  CHECK(plan.size.samples == testing::approx(240'000));
  SimulatedClockOptions options;
  options.frequency_hz = Rational(1'000'000);
  options.sample_rate_hz = Rational(25'000'000);  // 40 ns
  options.duration_s = Rational::make(1, 100);
  const auto capture = simulate_clock(options);
  REQUIRE(capture);
  CHECK(plan.size.level_changes ==
        testing::approx(static_cast<double>(capture->edges.size()))
            .epsilon(1e-3));
  // Digits differ: 8 decimals here for 9, times in 10 ns for 1 ns.
  const auto csv = csv_text(*capture, "clk");
  const auto vcd = vcd_text(*capture, "clk");
  REQUIRE(csv);
  REQUIRE(vcd);
  CHECK(plan.size.csv_changes_bytes ==
        testing::approx(static_cast<double>(csv->size())).epsilon(0.2));
  CHECK(plan.size.vcd_bytes ==
        testing::approx(static_cast<double>(vcd->size())).epsilon(0.2));
}

TEST_CASE("usual_sample_rates: ascending, ends included") {
  const auto rates = usual_sample_rates(1e6, 1e7);
  REQUIRE(rates.size() == 16);
  CHECK(rates.front() == Rational(1'000'000));
  CHECK(rates.back() == Rational(10'000'000));
}

}  // namespace
}  // namespace clockassay
