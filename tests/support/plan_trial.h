// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "clockassay/plan/capture_plan.h"
#include "clockassay/verdict/verdict.h"

namespace clockassay::testing {

/// Where the clock of a trial lies.
enum class PlanPromise {
  kPass,       ///< where the plan is sure of a pass
  kFail,       ///< where it is sure of a fail
  kUndecided,  ///< within its limits, the plan says that nothing decides
  kNone,       ///< between: anything may come of it
  kLikely,     ///< of the needed length, amid its limits: as often as is said
};
constexpr PlanPromise kPlanPromises[] = {
    PlanPromise::kPass, PlanPromise::kFail, PlanPromise::kLikely,
    PlanPromise::kUndecided, PlanPromise::kNone};
const char* promise_name(PlanPromise promise);

/// A plan, the capture it asks for, and what is decided on it.
struct PlanTrial {
  std::string expect;
  std::string tolerance;
  CapturePlan plan;
  PlanPromise promise = PlanPromise::kNone;
  /// Captured for the needed length: how often a clock amid its limits passes.
  std::optional<double> likely;
  double clock_ppm = 0.0;
  double timebase_ppm = 0.0;
  Seconds jitter{0.0};  ///< stated, or below what the plan says may be left out
  double duty = 0.5;
  double reference_hz = 0.0;  ///< of the one beside; 0: none
  Decision decision = Decision::kUndecided;
  bool kept = true;      ///< it came as promised
  bool refused = false;  ///< it could not be simulated, read or analysed
  std::optional<double> expanded_ppm;  ///< U of the verdict
  std::optional<double> capture_ppm;   ///< of the capture alone, 95 %
  std::string why;                     ///< first reason of the verdict
};

/// A random question and instrument, planned; a clock somewhere, simulated as
/// planned, beside a reference where that is planned, and seen through an
/// instrument anywhere within its tolerance; written, read and judged. The same
/// for the same seed.
PlanTrial plan_trial(std::uint64_t seed);

/// A clock in the middle of its limits, captured for the length that is needed
/// by the plan of that question, with jitter below what is said of that length
/// in half of the trials.
/// In:  a question that a length decides
PlanTrial needed_trial(const char* expect, double tolerance_ppm,
                       double timebase_ppm, std::int64_t rate_hz,
                       std::uint64_t seed);

/// What came of the trials of one promise.
struct PromiseCount {
  int plans = 0;
  int decided[3] = {};    ///< by Decision
  int broken = 0;         ///< as kept says
  double expected = 0.0;  ///< broken, as the plans themselves say, at most
  /// That as many are broken, or more, where each is with 1 - coverage, or of
  /// the needed length as often as the plan says.
  double chance = 1.0;
};
PromiseCount count_promise(const std::vector<PlanTrial>& trials,
                           PlanPromise promise);

/// Whether what is sure is so at its coverage: no sure fail passes, no clock
/// passes where an alias or the timebase forbids it, and of
/// what is sure no more is broken than comes by chance once in a thousand.
/// Empty: all holds; else what does not.
std::string broken_promises(const std::vector<PlanTrial>& trials);

}  // namespace clockassay::testing
