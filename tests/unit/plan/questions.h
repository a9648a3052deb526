// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <string>

#include "clockassay/plan/capture_plan.h"

namespace clockassay::testing {

/// A capture that is asked about, by an instrument of which nothing is stated.
inline CapturePlanInput asked(const std::string& expect, const char* tolerance,
                              std::int64_t rate_hz) {
  CapturePlanInput in;
  in.expect = parse_clock_path(expect).value();
  in.tolerance = parse_tolerance(tolerance).value();
  in.sample_rate_hz = Rational(rate_hz);
  return in;
}

inline void state(CapturePlanInput& in, double ppm) {
  in.timebase = {TimebaseKind::kStated, Ppm(0.0), Ppm(ppm)};
}

}  // namespace clockassay::testing
