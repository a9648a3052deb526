// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/report/plan_report.h"

#include <doctest/doctest.h>

#include <cmath>
#include <sstream>
#include <string>

#include "report/display_width.h"
#include "unit/report/golden.h"

using namespace clockassay;
using namespace clockassay::testing;

namespace {

// The field data logger: a crystal of 24 MHz for 12 pF in place of one of 16.
LoadPlan load() {
  LoadPlanInput input;
  input.crystal_load = Farads(12e-12);
  input.c0 = Farads(3e-12);
  input.c1 = Farads(8e-15);
  input.fitted = CapacitorPair{Farads(15e-12), Farads(15e-12)};
  return plan_load(input);
}

DrivePlan drive() {
  DrivePlanInput input;
  input.frequency = Hertz(24e6);
  input.r1 = Ohms(60.0);
  input.c0 = Farads(3e-12);
  input.load = Farads(12e-12);
  input.gm = Siemens(5e-3);
  input.swing = Volts(1.8);
  input.drive_limit = Watts(100e-6);
  input.series_resistor = Ohms(220.0);
  const auto plan = plan_drive(input);
  REQUIRE(plan);
  return *plan;
}

PathPlan path() {
  PathSource source;
  source.low_ppm = -30.0;
  source.high_ppm = 30.0;
  source.is_assumed = false;
  const auto plan = plan_path("24MHz / 3 * 42 / 4", source);
  REQUIRE(plan);
  return *plan;
}

CapturePlan capture() {
  CapturePlanInput input;
  input.expect = *parse_clock_path("24MHz / 2 / 16");
  input.tolerance = ToleranceBand{Rational(-30), Rational(30)};
  input.sample_rate_hz = Rational(24'000'000);
  input.timebase = {TimebaseKind::kStated, Ppm(0.0), Ppm(20.0)};
  return plan_capture(input);
}

template <class Plan>
void check(const std::string& name, const Plan& plan) {
  const std::string text = plan_text(plan);
  check_golden(name + ".txt", text);
  check_golden(name + ".json", plan_json(plan, "0.0"));
  std::istringstream lines(text);
  for (std::string line; std::getline(lines, line);) {
    CAPTURE(line);
    CHECK(display_width(line) <= 80);
  }
}

}  // namespace

TEST_CASE("plan reports: are as they were, within 80 columns") {
  check("plan_load", load());
  check("plan_drive", drive());
  check("plan_path", path());
  check("plan_capture", capture());
}

TEST_CASE("plan_text: a pair has the whole span of its pull, as it lies") {
  LoadPlanInput input;
  input.crystal_load = Farads(12e-12);
  input.fitted = CapacitorPair{Farads(22e-12), Farads(22e-12)};
  const LoadPlan plan = plan_load(input);
  REQUIRE(plan.fitted);
  // Nothing of it is a crystal that runs fast: to tens, as U has two digits.
  REQUIRE(std::lround(plan.fitted->pull_low.value() / 10.0) == -16);
  REQUIRE(std::lround(plan.fitted->pull_high.value() / 10.0) == 0);
  const std::string text = plan_text(plan);
  const auto line = text.find("fitted now");
  REQUIRE(line != std::string::npos);
  const std::string words = text.substr(line, text.find("per pF") - line);
  CAPTURE(words);
  CHECK(words.find(", from -160 \u2026 0 ppm") != std::string::npos);
  CHECK(words.find("ppm \u00B1") == std::string::npos);
}
