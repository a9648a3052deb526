// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/uncertainty/reference.h"

#include <doctest/doctest.h>

#include <cmath>
#include <string>
#include <utility>

#include "support/approx.h"

namespace clockassay {
namespace {

constexpr double kZ95 = 1.959963984540054;  // normal, 95 % two-sided

FrequencyEstimate seen(double f, double half_width) {
  FrequencyEstimate estimate;
  estimate.frequency = Hertz(f);
  estimate.half_width = Hertz(half_width);
  estimate.method = EstimateMethod::kLikelihood;
  return estimate;
}

ReferenceClock ten_megahertz(std::optional<Rational> tolerance_ppm) {
  return {"ref", Rational(10'000'000), tolerance_ppm};
}

TEST_CASE("parse_reference: the last equals sign parts channel and frequency") {
  const auto read = parse_reference("top.ref=10MHz±0.1ppm");
  REQUIRE(read);
  CHECK(read->channel == "top.ref");
  CHECK(read->frequency_hz == Rational(10'000'000));
  CHECK(read->tolerance_ppm == Rational::make(1, 10));
  const auto odd = parse_reference("a = b=1Hz");
  REQUIRE(odd);
  CHECK(odd->channel == "a = b");
  CHECK_FALSE(odd->tolerance_ppm);
  for (const char* text : {"10MHz", "=10MHz", ""}) {
    CAPTURE(std::string(text));
    const auto bad = parse_reference(text);
    REQUIRE_FALSE(bad);
    CHECK(bad.error().code == ErrorCode::kUsage);
    CHECK(bad.error().message ==
          "found \"" + std::string(text) +
              "\", expected a channel and its frequency");
    CHECK(bad.error().hint == "for example ref=10MHz±0.1ppm");
  }
  CHECK_FALSE(parse_reference("ref="));
  // A file may hold anything: nothing of it moves the cursor.
  CHECK(parse_reference("\x1b[2J").error().message ==
        "found \"\\x1B[2J\", expected a channel and its frequency");
}

TEST_CASE("reference_tolerance: not stated means unknown, not exact") {
  CHECK(reference_tolerance(ten_megahertz(2)).value() == 2.0);
  CHECK(reference_tolerance(ten_megahertz({})).value() == 100.0);
}

TEST_CASE("timebase_by_reference: what reads low has a fast timebase") {
  // Seen at 9.9995 MHz: the true one is 50.0025 ppm more, 1/0.99995 - 1.
  const Timebase t =
      timebase_by_reference(ten_megahertz(1), seen(9'999'500.0, 9.9995));
  CHECK(t.kind == TimebaseKind::kReference);
  CHECK(t.offset.value() == testing::approx(50.00250013).epsilon(1e-9));
  // 1 ppm of the reference and 1 ppm that sampling leaves.
  CHECK(t.tolerance.value() == testing::approx(2.0).epsilon(1e-4));
}

TEST_CASE("make_budget_against: reference, its sampling and the clock's own") {
  ClockRatio ratio;
  ratio.value = 1.2;
  ratio.clock_half_width = 3e-6;
  ratio.reference_half_width = 4e-6;
  // In the capture's own time 12 MHz at 50 ppm less.
  const Budget b = make_budget_against(ten_megahertz(10),
                                       seen(11'999'400.0, 1.0), ratio, 0.95);
  CHECK(b.frequency.value.value() == testing::approx(12e6).epsilon(1e-15));
  CHECK(b.relative_to_timebase.value.value() == 11'999'400.0);
  CHECK(b.relative_to_timebase.expanded_uncertainty.value() ==
        testing::approx(1.0).epsilon(1e-12));
  CHECK(b.error_ppm.rectangle_half_width == 10.0);
  // sqrt(3^2 + 4^2) / z95
  CHECK(b.error_ppm.normal_sigma == testing::approx(5.0 / kZ95).epsilon(1e-12));
  // u = sqrt(10^2/3 + (5/z95)^2)
  CHECK(b.frequency.standard_uncertainty.value() / 12.0 ==
        testing::approx(std::hypot(10 / std::sqrt(3.0), 5 / kZ95))
            .epsilon(1e-12));
  CHECK_FALSE(b.frequency.coverage_factor);
  REQUIRE(b.lines.size() == 3);
  CHECK(b.lines[0].name == "sampling and jitter");
  CHECK(b.lines[0].standard_uncertainty.value() ==
        testing::approx(3.0 / kZ95).epsilon(1e-12));
  CHECK(b.lines[1].name == "reference, sampling and jitter");
  CHECK(b.lines[1].standard_uncertainty.value() ==
        testing::approx(4.0 / kZ95).epsilon(1e-12));
  CHECK(b.lines[2].name == "reference, tolerance");
  CHECK(b.lines[2].distribution == "rectangular");
  CHECK(b.lines[2].standard_uncertainty.value() ==
        testing::approx(10 / std::sqrt(3.0)).epsilon(1e-12));
  CHECK(b.lines[2].source == "stated");
}

TEST_CASE("make_budget_against: edges timed by the reference are one line") {
  ClockRatio ratio;
  ratio.value = 1.2;
  ratio.clock_half_width = 3e-6;
  ratio.timed_by_reference = true;
  const Budget b =
      make_budget_against(ten_megahertz({}), seen(12e6, 1.0), ratio, 0.95);
  REQUIRE(b.lines.size() == 2);
  CHECK(b.lines[0].name == "sampling and jitter, clock and reference");
  CHECK(b.lines[1].source == "assumed, nothing stated");
  CHECK(b.error_ppm.rectangle_half_width == 100.0);
}

TEST_CASE("make_budget_against: no half-width is no knowledge") {
  // Of the clock, of the reference, of both: also where the other is known.
  for (const auto& widths :
       {std::pair(0.0, 4e-6), std::pair(3e-6, 0.0), std::pair(0.0, 0.0)}) {
    const double clock = widths.first, reference = widths.second;
    CAPTURE(clock);
    CAPTURE(reference);
    ClockRatio ratio;
    ratio.value = 1.2;
    ratio.clock_half_width = clock;
    ratio.reference_half_width = reference;
    const Budget b =
        make_budget_against(ten_megahertz(1), seen(12e6, 1.0), ratio, 0.95);
    CHECK(std::isinf(b.expanded_ppm.value()));
    CHECK(std::isinf(b.frequency.standard_uncertainty.value()));
    CHECK(std::isinf(b.lines[0].standard_uncertainty.value()) ==
          (clock == 0.0));
    CHECK(std::isinf(b.lines[1].standard_uncertainty.value()) ==
          (reference == 0.0));
  }
}

TEST_CASE("budget_of_reference: as stated, whatever was seen of it") {
  const Budget b =
      budget_of_reference(ten_megahertz(2), seen(9'999'500.0, 9.0), 0.95);
  CHECK(b.frequency.value.value() == 1e7);
  // 95 % of a rectangle of 2 ppm.
  CHECK(b.expanded_ppm.value() == testing::approx(1.9).epsilon(1e-12));
  CHECK(b.relative_to_timebase.value.value() == 9'999'500.0);
  CHECK(b.lines.size() == 1);
}

}  // namespace
}  // namespace clockassay
