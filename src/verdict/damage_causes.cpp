// SPDX-License-Identifier: GPL-3.0-or-later
#include "verdict/damage_causes.h"

#include <algorithm>
#include <initializer_list>
#include <optional>

#include "verdict/wording.h"

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

constexpr const char* kLostWords = "samples were lost while capturing";
constexpr const char* kLostAdvice =
    "Compare the length of the capture with the time it took; use fewer "
    "channels or a rate that the instrument sustains.";
constexpr const char* kLostSettledBy =
    "capture again: lost samples are elsewhere then";

void add(CauseCode code, const char* words, const char* advice,
         const char* settled_by, const std::string& seen,
         std::vector<Cause>& causes, int rank = 1) {
  Cause cause;
  cause.code = code;
  cause.cause = words;
  cause.evidence.push_back(seen + ".");
  cause.advice = advice;
  cause.settled_by = settled_by;
  cause.rank = rank;
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

// Not by chance: whoever makes the gaps makes the mean rate too.
std::optional<Cause> swallowed(const ClockEvidence& evidence) {
  const Warning* w = find_warning(evidence, {WarningCode::kRepairsRegular});
  if (w == nullptr || !evidence.regular_repairs) return std::nullopt;
  // Pulses as short as a sample are missed where the two beat.
  if (find_warning(evidence, {WarningCode::kNarrowPulses,
                              WarningCode::kUndersampled}) != nullptr) {
    return std::nullopt;
  }
  const bool missing =
      evidence.regular_repairs->kind == RepairKind::kMissingCycle;
  const double f = evidence.budget.frequency.value.value();
  const double as_captured = f * (1.0 + 1e-6 * evidence.as_captured.value());
  Cause cause;
  cause.code = CauseCode::kPulsesSwallowed;
  cause.cause = missing ? "the clock swallows pulses at even intervals"
                        : "pulses are put in at even intervals";
  cause.expected = Hertz(as_captured);
  cause.evidence.push_back(w->message + ".");
  cause.evidence.push_back("Pulses as captured come at " +
                           hertz_text(as_captured) + ", periods at " +
                           hertz_text(f) + ".");
  cause.advice =
      "Look for a gate, a fractional or two-ratio divider, a calibration that "
      "drops or adds pulses. What counts pulses runs at their mean rate: judge "
      "it over a whole pattern; what needs every period must not get this "
      "clock.";
  cause.settled_by =
      "capture it beside its source, or with the calibration switched off";
  cause.rank = 1;
  return cause;
}

// It ran at another frequency first: no damage makes that of it.
std::optional<Cause> switched(const ClockEvidence& evidence) {
  if (!evidence.other_frequency) return std::nullopt;
  const EarlierStretch& before = *evidence.other_frequency;
  const double f = evidence.budget.frequency.value.value();
  const std::string until = number_text(before.to.value(), 4) + " s";
  Cause cause;
  cause.code = CauseCode::kSourceSwitched;
  cause.cause = "the clock ran at another frequency before: " +
                hertz_text(before.budget.frequency.value.value()) + " until " +
                until;
  cause.expected = Hertz(f);
  cause.evidence.push_back("From " + number_text(before.from.value(), 4) +
                           " s to " + until + " it ran at " +
                           hertz_text(before.budget.frequency.value.value()) +
                           ", in the end at " + hertz_text(f) + ".");
  cause.advice =
      "Where it starts on another source and is switched over, say how long "
      "that may take (\"settle_within\" in the specification), or look at what "
      "follows alone (--from). Where it should not, look for what switches it.";
  cause.settled_by =
      "capture a start and a time when it has long run: only the start shows "
      "both";
  cause.rank = 1;
  return cause;
}

}  // namespace

std::string off_periods_text(const SteadyPeriods& steady) {
  return std::to_string(steady.off) + " of " + std::to_string(steady.periods) +
         " periods are off the others by more than sampling and jitter "
         "explain";
}

Cause single_samples_lost() {
  std::vector<Cause> one;
  add(CauseCode::kSamplesLost, kLostWords, kLostAdvice, kLostSettledBy,
      "Single samples lost at random make a clock look faster, and look like "
      "an "
      "oscillator without a crystal",
      one);
  return std::move(one.front());
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
  auto own = swallowed(evidence);
  if (!own) own = switched(evidence);
  // Chance does not space them so: that the capture did it is the lesser guess.
  const int rank = own ? 2 : 1;
  if (own) causes.push_back(*std::move(own));
  if (const std::optional<std::string> seen = damage_seen(evidence)) {
    add(CauseCode::kSamplesLost, kLostWords, kLostAdvice, kLostSettledBy, *seen,
        causes, rank);
    add(CauseCode::kEdgesMiscounted, "edges are missed, doubled or gated",
        "Look at the signal: threshold, ringing, probe ground, a gate; set a "
        "hysteresis.",
        "capture again at a higher rate: what the clock does is there again",
        *seen, causes, rank);
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
