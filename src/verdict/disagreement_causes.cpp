// SPDX-License-Identifier: GPL-3.0-or-later
#include "verdict/disagreement_causes.h"

#include <algorithm>
#include <cmath>
#include <string>
#include <utility>

#include "verdict/cause_evidence.h"
#include "verdict/hypotheses.h"
#include "verdict/wording.h"

namespace clockassay {
namespace {

// Where less than so much of what the tolerance allows is open, hardly anything
// but a slip puts an output there. Chosen: the usual odds of one in ten.
constexpr double kHardlyChance = 0.1;

bool is_behind(const Hypothesis& h, const OtherClock& other) {
  return h.factor && *h.factor >= other.shared_factors;
}

// What the pin would show with that slip by this other output, whatever their
// source is off.
double shown_hz(const ClockSpec& clock, const Hypothesis& h,
                const OtherClock& other) {
  const double slip = is_behind(h, other) ? h.ratio.to_double() : 1.0;
  return clock.expect.frequency_hz.to_double() * slip *
         (1.0 + other.error.value() * 1e-6);
}

// Whether the slip puts this clock where it is beside every right output: off
// those it is behind of, and not off those that pass it as well.
bool fits_beside_all(const ClockSpec& clock, const Hypothesis& h,
                     const ClockEvidence& evidence) {
  const double f = evidence.budget.frequency.value.value();
  return std::all_of(
      evidence.others.begin(), evidence.others.end(),
      [&](const OtherClock& other) {
        const bool counts = other.is_right || is_slightly_apart(other);
        if (!other.same_source || !counts) return true;
        const double slip = is_behind(h, other) ? h.ratio.to_double() : 1.0;
        const double apart_ppm = (f / shown_hz(clock, h, other) - 1.0) * 1e6;
        return std::abs(apart_ppm) <= other.allowed.value() / slip;
      });
}

std::string apart_sentence(const OtherClock& other) {
  const double allowed = other.allowed.value();
  const std::string slip =
      other.slip == Rational(1)
          ? "This"
          : "Beyond a ratio of " + other.slip.to_string() + " this";
  return slip + " clock is " +
         above_or_below(other.difference.value(), allowed) + " what \"" +
         other.name + "\" makes of their source, where " +
         ppm_text(allowed, allowed) +
         " ppm are not known: outputs of one source differ by nothing.";
}

Cause slip_cause(const ClockSpec& clock, const Hypothesis& h,
                 const ClockEvidence& evidence, const OtherClock& other) {
  const double f = evidence.budget.frequency.value.value();
  const double shown = shown_hz(clock, h, other);
  Cause cause;
  cause.code = h.code;
  cause.cause = h.cause;
  cause.ratio = h.ratio.to_string();
  cause.expected = Hertz(shown);
  cause.residual = Ppm((f / shown - 1.0) * 1e6);
  cause.evidence.push_back(apart_sentence(other));
  cause.evidence.push_back(
      h.expression + " leaves " +
      offset_text(cause.residual->value(), other.allowed.value()) +
      " of that.");
  if (!h.seen.empty()) cause.evidence.push_back(h.seen);
  cause.advice = h.advice;
  cause.settled_by = h.settled_by;
  return cause;
}

Cause open_cause(const OtherClock& other, CauseCode code, std::string words) {
  Cause cause;
  cause.code = code;
  cause.cause = std::move(words);
  cause.evidence.push_back(apart_sentence(other));
  return cause;
}

std::vector<Hypothesis> slips_of(const ClockSpec& clock,
                                 const ClockEvidence& evidence) {
  std::vector<Hypothesis> slips = make_hypotheses(clock, {});
  if (evidence.jitter) {
    append_in_turns(clock, *evidence.jitter, evidence.budget.frequency.value,
                    evidence.window, slips);
  }
  return slips;
}

}  // namespace

const OtherClock* disagreeing_output(const ClockEvidence& evidence) {
  const bool is_outvoted = is_outvoted_slightly(evidence);
  const auto found = std::find_if(
      evidence.others.begin(), evidence.others.end(),
      [is_outvoted](const OtherClock& o) {
        return o.same_source && !o.agrees &&
               (o.is_right || (is_outvoted && is_slightly_apart(o)));
      });
  return found == evidence.others.end() ? nullptr : &*found;
}

Cause behind_the_split(const OtherClock& other) {
  Cause cause = open_cause(other, CauseCode::kOutputAlone,
                           "a fault behind the point where this output and \"" +
                               other.name + "\" part, on either side");
  cause.advice =
      "Read back the dividers, prescalers and routing of both behind that "
      "point.";
  cause.settled_by = "put the source itself out on each of the pins in turn";
  return cause;
}

Cause not_one_source(const OtherClock& other) {
  Cause cause = open_cause(
      other, CauseCode::kSourceNotShared,
      "this output and \"" + other.name + "\" do not come from one source");
  cause.advice =
      "Look up in the clock tree where each of them comes from. Where they "
      "have two sources, tell these apart with \"source\" in the "
      "specification; where they should have one, look for a fall-back to "
      "another oscillator.";
  cause.settled_by =
      "capture both again at another temperature: the ratio of outputs of one "
      "source stays as it is";
  return cause;
}

std::vector<Cause> disagreement_causes(const ClockSpec& clock,
                                       const ClockEvidence& evidence) {
  const OtherClock* other = disagreeing_output(evidence);
  if (other == nullptr) return {};
  std::vector<Cause> causes;
  for (const Hypothesis& h : slips_of(clock, evidence)) {
    if (!is_behind(h, *other) || !fits_beside_all(clock, h, evidence)) continue;
    causes.push_back(slip_cause(clock, h, evidence, *other));
    causes.back().rank = 1;
  }
  const ToleranceBand& make = clock.tolerance.make;
  const double width = make.high_ppm.to_double() - make.low_ppm.to_double();
  const bool is_told =
      !causes.empty() && 2.0 * other->allowed.value() <= kHardlyChance * width;
  for (Cause& cause :
       std::vector{behind_the_split(*other), not_one_source(*other)}) {
    cause.rank = is_told ? 2 : 1;
    causes.push_back(std::move(cause));
  }
  return causes;
}

}  // namespace clockassay
