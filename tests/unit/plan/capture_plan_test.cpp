// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/plan/capture_plan.h"

#include <doctest/doctest.h>

#include <cmath>
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
  CHECK_FALSE(passing_zone(plan, plan.expanded.value()));
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
  const auto pass = passing_zone(plan, u);
  REQUIRE(pass);
  CHECK(pass->high_ppm == doctest::Approx(30 - u));
  CHECK(pass->low_ppm == doctest::Approx(-30 + u));
  CHECK(failing_beyond(plan, u).high_ppm == doctest::Approx(30 + u));
  // The length leaves a tenth of the limits at worst, whatever locks.
  CHECK(1e6 / (plan.duration.value() * 100e6) <= 3.0);
  CHECK(plan.capture_U.value() <= 3.0);
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
  const auto pass = passing_zone(plan, plan.expanded.value());
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
  if (plan.better_rate_hz) {
    CHECK(plan.better_half_width->value() <=
          0.5 * plan.width.half_width.value());
    CHECK(plan.better_rate_hz->to_double() <= 1.3 * 24e6);
  }
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
