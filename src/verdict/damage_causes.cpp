// SPDX-License-Identifier: GPL-3.0-or-later
#include "verdict/damage_causes.h"

#include <algorithm>
#include <initializer_list>
#include <optional>

#include "verdict/cause_evidence.h"

namespace clockassay {
namespace {

const Warning* find_warning(const ClockEvidence& evidence,
                            std::initializer_list<WarningCode> codes) {
  for (const Warning& warning : evidence.warnings) {
    if (std::find(codes.begin(), codes.end(), warning.code) != codes.end()) {
      return &warning;
    }
  }
  return nullptr;
}

void add(CauseCode code, const char* words, const char* advice,
         const char* settled_by, const std::string& seen,
         std::vector<Cause>& causes) {
  Cause cause;
  cause.code = code;
  cause.cause = words;
  cause.evidence.push_back(seen + ".");
  cause.if_true = seen_if_true(code);
  cause.advice = advice;
  cause.settled_by = settled_by;
  cause.rank = 1;
  causes.push_back(std::move(cause));
}

constexpr const char* kSecondReference = "a second reference beside the first";

// That edges or samples are not as the clock made them.
std::optional<std::string> damage_seen(const ClockEvidence& evidence) {
  const Warning* w = find_warning(
      evidence, {WarningCode::kSeveralStretches, WarningCode::kRepairDoubtful,
                 WarningCode::kUnevenPeriods, WarningCode::kEdgesRepaired});
  if (w != nullptr) return w->message;
  if (!evidence.steady_periods) return std::nullopt;
  return off_periods_text(*evidence.steady_periods);
}

}  // namespace

std::string off_periods_text(const SteadyPeriods& steady) {
  return std::to_string(steady.off) + " of " + std::to_string(steady.periods) +
         " periods are off the others by more than sampling and jitter "
         "explain";
}

std::vector<Cause> damage_causes(const ClockEvidence& evidence) {
  std::vector<Cause> causes;
  if (const Warning* w = find_warning(evidence, {WarningCode::kClockStopped})) {
    add(CauseCode::kSourceStopped, "the clock stops while it is captured",
        "Look for a sleep mode, a gate, a reset or a clock monitor that stops "
        "it.",
        "capture it together with the signal that may stop it", w->message,
        causes);
  }
  if (const std::optional<std::string> seen = damage_seen(evidence)) {
    add(CauseCode::kSamplesLost, "samples were lost while capturing",
        "Compare the length of the capture with the time it took; use fewer "
        "channels or a rate that the instrument sustains.",
        "capture again: lost samples are elsewhere then", *seen, causes);
    add(CauseCode::kEdgesMiscounted, "edges are missed, doubled or gated",
        "Look at the signal: threshold, ringing, probe ground, a gate; set a "
        "hysteresis.",
        "capture again at a higher rate: what the clock does is there again",
        *seen, causes);
  }
  if (const Warning* w =
          find_warning(evidence, {WarningCode::kReferenceContradicts})) {
    add(CauseCode::kTimebaseOff,
        "the instrument's own time is further off than is stated",
        "Check the statement of the timebase.", kSecondReference, w->message,
        causes);
    add(CauseCode::kTimebaseOff, "the reference is further off than is stated",
        "Check the reference against another one, and that it is the clock it "
        "is taken for.",
        kSecondReference, w->message, causes);
  }
  return causes;
}

}  // namespace clockassay
