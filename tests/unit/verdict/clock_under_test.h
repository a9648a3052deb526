// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <doctest/doctest.h>

#include <string>
#include <string_view>

#include "clockassay/base/quantity_text.h"
#include "clockassay/oscillator/clock_path.h"
#include "clockassay/uncertainty/budget.h"
#include "clockassay/verdict/verdict.h"
#include "verdict/checks.h"

namespace clockassay {

inline ToleranceBand band_of(std::string_view text) {
  const Result<ToleranceBand> band = parse_tolerance(text);
  REQUIRE(band);
  return *band;
}

inline ClockSpec clock_of(std::string_view expect, std::string_view make) {
  ClockSpec clock;
  clock.name = "clock output";
  const Result<ClockPath> path = parse_clock_path(expect);
  REQUIRE(path);
  clock.expect = *path;
  clock.tolerance.make = band_of(make);
  return clock;
}

inline Suspect suspect_of(std::string name, std::string_view frequency,
                          std::string_view tolerance) {
  const Result<Rational> f = parse_frequency(frequency);
  REQUIRE(f);
  return {std::move(name), *f, band_of(tolerance)};
}

/// A pin at `hertz`, known to 0.1 ppm (95 %) in the capture's own time and
/// through a timebase stated to ±`timebase_ppm`.
inline ClockEvidence evidence_of(double hertz, double timebase_ppm,
                                 double capture_ppm = 0.1) {
  FrequencyEstimate estimate;
  estimate.frequency = Hertz(hertz);
  estimate.half_width = Hertz(hertz * capture_ppm * 1e-6);
  estimate.method = EstimateMethod::kFeasibleSet;
  ClockEvidence evidence;
  evidence.capture = "board.csv";
  evidence.channel = "clk_out";
  evidence.timebase = {TimebaseKind::kStated, Ppm(0.0), Ppm(timebase_ppm)};
  evidence.budget = make_budget(estimate, evidence.timebase, 0.95);
  evidence.duration = Seconds(0.01);
  return evidence;
}

/// e ppm with a rectangle alone, U = 0.95 a.
inline MeasuredError error_of(double ppm, double a) {
  MeasuredError error;
  error.ppm = ppm;
  error.distribution = {a, 0.0};
  error.expanded_ppm = 0.95 * a;
  return error;
}

inline RequirementAsked requirement_of(std::string title,
                                       std::string_view limits,
                                       bool may_decide = true) {
  return {"an-id", std::move(title), band_of(limits), "a standard, 1.2",
          may_decide};
}

}  // namespace clockassay
