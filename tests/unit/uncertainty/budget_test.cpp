// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/uncertainty/budget.h"

#include <doctest/doctest.h>

#include <cmath>
#include <limits>
#include <string>

#include "support/approx.h"

namespace clockassay {
namespace {

FrequencyEstimate estimate_of(double f, double half_width) {
  FrequencyEstimate estimate;
  estimate.frequency = Hertz(f);
  estimate.half_width = Hertz(half_width);
  estimate.method = EstimateMethod::kFeasibleSet;
  return estimate;
}

constexpr double kZ95 = 1.959963984540054;  // normal, 95 % two-sided

TEST_CASE("make_budget: the capture alone has the half-width at 95 %") {
  // 12 MHz, half-width 12 Hz: 1 ppm.
  const Budget b = make_budget(estimate_of(12e6, 12.0), Timebase{}, 0.95);
  CHECK(b.relative_to_timebase.value.value() == 12e6);
  CHECK(b.relative_to_timebase.expanded_uncertainty.value() ==
        testing::approx(12.0).epsilon(1e-12));
  CHECK(b.relative_to_timebase.standard_uncertainty.value() ==
        testing::approx(12.0 / kZ95).epsilon(1e-12));
  REQUIRE(b.relative_to_timebase.coverage_factor);
  CHECK(*b.relative_to_timebase.coverage_factor ==
        testing::approx(kZ95).epsilon(1e-12));
  CHECK(b.expanded_capture_ppm.value() == testing::approx(1.0).epsilon(1e-12));
}

TEST_CASE("make_budget: another coverage rescales the capture as a normal") {
  const Budget b = make_budget(estimate_of(12e6, 12.0), Timebase{}, 0.99);
  // z99 = 2.5758293035489004.
  CHECK(b.expanded_capture_ppm.value() ==
        testing::approx(2.5758293035489004 / kZ95).epsilon(1e-12));
  CHECK(b.frequency.coverage == 0.99);
}

TEST_CASE("make_budget: the timebase makes U and leaves no coverage factor") {
  // a = 100 ppm; sigma = 30 ppm: half-width 30 * z95 ppm of 1 MHz in hertz.
  const Timebase assumed;
  const Budget b = make_budget(estimate_of(1e6, 30 * kZ95), assumed, 0.95);
  // 1.182 a at a deviation of 0.3 a (error_distribution_test.cpp).
  CHECK(std::abs(b.expanded_ppm.value() - 118.2) < 0.05);
  CHECK(b.frequency.expanded_uncertainty.value() ==
        testing::approx(b.expanded_ppm.value()).epsilon(1e-12));
  CHECK_FALSE(b.frequency.coverage_factor);
  // u = sqrt(100^2/3 + 30^2) ppm of 1 MHz, in hertz.
  CHECK(b.frequency.standard_uncertainty.value() ==
        testing::approx(std::sqrt(1e4 / 3 + 900)).epsilon(1e-12));
}

TEST_CASE("make_budget: a fast timebase reads low, so the offset is added") {
  const Timebase fast{TimebaseKind::kCalibrated, Ppm(12.5), Ppm(2.0)};
  const Budget b = make_budget(estimate_of(8e6, 1.0), fast, 0.95);
  CHECK(b.frequency.value.value() ==
        testing::approx(8e6 + 8 * 12.5).epsilon(1e-15));
  CHECK(b.relative_to_timebase.value.value() == 8e6);
}

TEST_CASE("make_budget: a tolerance is of the nominal rate, U of the true") {
  // 1 % fast: the true frequency is 1.01 times the indicated one, and what the
  // tolerance leaves in hertz stays: 10 ppm become 10 / 1.01.
  const Timebase fast{TimebaseKind::kCalibrated, Ppm(10000.0), Ppm(10.0)};
  const Budget b = make_budget(estimate_of(1e6, 1.0), fast, 0.95);
  CHECK(b.error_ppm.rectangle_half_width ==
        testing::approx(10 / 1.01).epsilon(1e-12));
}

TEST_CASE("make_budget: an exact timebase leaves a normal with its factor") {
  const Timebase exact{TimebaseKind::kStated, Ppm(0.0), Ppm(0.0)};
  const Budget b = make_budget(estimate_of(1e6, 5.0), exact, 0.95);
  REQUIRE(b.frequency.coverage_factor);
  CHECK(b.frequency.expanded_uncertainty.value() ==
        testing::approx(5.0).epsilon(1e-12));
}

TEST_CASE("make_budget: each line says what it is and where it is from") {
  const Budget b = make_budget(estimate_of(1e6, kZ95), Timebase{}, 0.95);
  REQUIRE(b.lines.size() == 2);
  CHECK(b.lines[0].name == "sampling and jitter");
  CHECK(b.lines[0].type == 'B');
  CHECK(b.lines[0].distribution == "normal");
  CHECK(b.lines[0].standard_uncertainty.value() ==
        testing::approx(1.0).epsilon(1e-12));
  CHECK_FALSE(b.lines[0].dof);
  CHECK(b.lines[0].source.starts_with("a constant frequency passes"));
  CHECK(b.lines[1].name == "timebase");
  CHECK(b.lines[1].distribution == "rectangular");
  CHECK(b.lines[1].standard_uncertainty.value() ==
        testing::approx(100 / std::sqrt(3.0)).epsilon(1e-12));
  CHECK(b.lines[1].source == "assumed, nothing stated");

  const Timebase stated{TimebaseKind::kStated, Ppm(0.0), Ppm(2.0)};
  CHECK(make_budget(estimate_of(1e6, 1.0), stated, 0.95).lines[1].source ==
        "stated");
  const Timebase calibrated{TimebaseKind::kCalibrated, Ppm(1.0), Ppm(2.0)};
  CHECK(make_budget(estimate_of(1e6, 1.0), calibrated, 0.95).lines[1].source ==
        "calibrated, offset applied");
}

TEST_CASE("make_budget: no half-width means no knowledge, never certainty") {
  for (const double bad :
       {0.0, -1.0, std::nan(""), std::numeric_limits<double>::infinity()}) {
    const Budget b = make_budget(estimate_of(1e6, bad), Timebase{}, 0.95);
    CAPTURE(bad);
    CHECK(std::isinf(b.expanded_ppm.value()));
    CHECK(std::isinf(b.expanded_capture_ppm.value()));
    CHECK_FALSE(is_proper(b.error_ppm));
  }
}

TEST_CASE("timebase_kind_name: has a name for every kind") {
  CHECK(std::string(timebase_kind_name(TimebaseKind::kAssumed)) == "assumed");
  CHECK(std::string(timebase_kind_name(TimebaseKind::kStated)) == "stated");
  CHECK(std::string(timebase_kind_name(TimebaseKind::kCalibrated)) ==
        "calibrated");
  CHECK(std::string(timebase_kind_name(TimebaseKind::kReference)) ==
        "reference");
}

}  // namespace
}  // namespace clockassay
