// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <optional>
#include <string>

#include "clockassay/plan/capture_plan.h"
#include "clockassay/verdict/verdict.h"

namespace clockassay::testing {

/// Where the clock of a trial lies.
enum class PlanPromise {
  kPass,       ///< where the plan is sure of a pass
  kFail,       ///< where it is sure of a fail
  kUndecided,  ///< within its limits, the plan says that nothing decides
  kNone,       ///< between: anything may come of it
};
constexpr PlanPromise kPlanPromises[] = {PlanPromise::kPass, PlanPromise::kFail,
                                         PlanPromise::kUndecided,
                                         PlanPromise::kNone};
const char* promise_name(PlanPromise promise);

/// A plan, the capture it asks for, and what is decided on it.
struct PlanTrial {
  std::string expect;
  std::string tolerance;
  CapturePlan plan;
  PlanPromise promise = PlanPromise::kNone;
  double clock_ppm = 0.0;
  double timebase_ppm = 0.0;
  Decision decision = Decision::kUndecided;
  bool kept = true;                    ///< it came as promised
  std::optional<double> expanded_ppm;  ///< U of the verdict
  std::optional<double> capture_ppm;   ///< of the capture alone, 95 %
  std::string why;                     ///< first reason of the verdict
};

/// A random question and instrument, planned; a clock somewhere, simulated as
/// planned and seen through an instrument anywhere within its tolerance;
/// judged. The same for the same seed.
PlanTrial plan_trial(std::uint64_t seed);

}  // namespace clockassay::testing
