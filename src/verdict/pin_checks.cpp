// SPDX-License-Identifier: GPL-3.0-or-later
#include "verdict/pin_checks.h"

#include <algorithm>
#include <boost/math/distributions/normal.hpp>
#include <cmath>

#include "verdict/wording.h"

namespace clockassay {
namespace {

constexpr const char* kDuty = "duty";
constexpr const char* kPeriodJitter = "period_jitter";

double coverage_factor(double coverage) {
  return quantile(boost::math::normal(), 0.5 + 0.5 * coverage);
}

constexpr const char* kHighTime = "high time over period";

Check check_duty(const DutyBand& band, const ClockEvidence& evidence) {
  Check check;
  check.check = kDuty;
  check.subject = kHighTime;
  check.low = band.low;
  check.high = band.high;
  check.unit = "1";
  check.source = "specification";
  if (!evidence.duty) return check;
  const double U = coverage_factor(evidence.budget.frequency.coverage) *
                   evidence.duty->standard_uncertainty;
  check.value = evidence.duty->value;
  check.expanded_uncertainty = U;
  check.decision = decide(evidence.duty->value, U, band.low, band.high);
  if (check.decision == Decision::kFail && !evidence.skew_stated) {
    check.decision = Decision::kUndecided;
  }
  return check;
}

Check check_required_duty(const RequirementAsked& asked, std::size_t index,
                          const ClockEvidence& evidence) {
  Check check = check_duty(*asked.duty, evidence);
  check.subject = asked.title + ", " + kHighTime;
  check.source = asked.source;
  check.advisory = !asked.may_decide;
  check.requirement = index;
  check.requirement_id = asked.id;
  return check;
}

/// Between what the jitter of the clock's own periods lies.
struct JitterBounds {
  double low = 0.0;
  double high = 0.0;
};

// A sample takes two edges apart or together by no more than a window, half of
// it rms at most (docs/measurement-model.md#jitter).
JitterBounds bound_period_jitter(const Jitter& jitter, double seen,
                                 const ClockEvidence& evidence) {
  const double periods =
      std::max<double>(1.0, static_cast<double>(jitter.cycles) - 1.0);
  // Neighbouring periods share an edge: of their squares two thirds count.
  const double spread = coverage_factor(evidence.budget.frequency.coverage) *
                        seen * std::sqrt(1.5 / (2.0 * periods));
  const double hidden = 0.5 * evidence.window->value() + spread;
  JitterBounds bounds;
  bounds.high = seen + hidden;
  // The difference of two edges is no more than twice one of them, rms.
  if (jitter.upper_limit) {
    bounds.high = std::min(bounds.high, 2.0 * jitter.upper_limit->value());
  }
  const double input =
      evidence.input_jitter_rms ? evidence.input_jitter_rms->value() : 0.0;
  bounds.low = std::clamp(seen - hidden - 2.0 * input, 0.0, bounds.high);
  return bounds;
}

Check check_period_jitter(const Rational& most_s,
                          const ClockEvidence& evidence) {
  Check check;
  check.check = kPeriodJitter;
  check.subject = "rms of the periods, what sampling does left open";
  check.high = most_s.to_double();
  check.unit = "s";
  check.source = "specification";
  if (!evidence.jitter || !evidence.jitter->period_rms || !evidence.window) {
    return check;
  }
  const double seen = evidence.jitter->period_rms->value();
  const JitterBounds bounds =
      bound_period_jitter(*evidence.jitter, seen, evidence);
  const double half = 0.5 * (bounds.high - bounds.low);
  check.value = bounds.low + half;
  check.expanded_uncertainty = half;
  check.decision = decide(*check.value, half, 0.0, *check.high);
  if (check.decision == Decision::kFail && !evidence.input_jitter_rms) {
    check.decision = Decision::kUndecided;
  }
  return check;
}

std::string time_words(double seconds) {
  return seconds < 1e-9 ? number_text(seconds * 1e12, 3) + " ps"
                        : number_text(seconds * 1e9, 3) + " ns";
}

std::string duty_words(double duty) {
  return number_text(100.0 * duty, 4) + " %";
}

}  // namespace

std::vector<Check> pin_checks(const ClockSpec& clock,
                              const ClockEvidence& evidence) {
  std::vector<Check> checks;
  if (clock.duty) checks.push_back(check_duty(*clock.duty, evidence));
  const auto& asked = clock.requirements;
  for (std::size_t i = 0; i < asked.size(); ++i) {
    if (!asked[i].duty) continue;
    if (!is_asked_of(asked[i], clock.expect.frequency_hz)) continue;
    checks.push_back(check_required_duty(asked[i], i, evidence));
  }
  if (clock.period_jitter_s) {
    checks.push_back(check_period_jitter(*clock.period_jitter_s, evidence));
  }
  return checks;
}

std::vector<std::string> duties_not_judged(const ClockSpec& clock) {
  std::vector<std::string> sentences;
  for (const RequirementAsked& asked : clock.requirements) {
    if (!asked.duty) continue;
    if (is_asked_of(asked, clock.expect.frequency_hz)) continue;
    std::string text = asked.title + ": its limits of the duty, " +
                       duty_words(asked.duty->low) + " to " +
                       duty_words(asked.duty->high) + ", are not judged here: ";
    if (asked.nominal_hz) {
      text += "they are of a pin of " +
              hertz_text(asked.nominal_hz->to_double()) + ", and ";
    }
    sentences.push_back(text + "a duty does not carry along a clock path.");
  }
  return sentences;
}

bool is_of_pin(const Check& check) {
  return check.check == kDuty || check.check == kPeriodJitter;
}

std::string pin_reason(const Check& check) {
  const bool duty = check.check == kDuty;
  std::string text = check.requirement ? check.subject + ": "
                     : duty            ? "Duty: "
                                       : "Period jitter: ";
  if (!check.value) return text + "not told by this capture: undecided.";
  if (duty) {
    text += duty_words(*check.value) +
            " high, U = " + duty_words(*check.expanded_uncertainty) +
            "; the limits are " + duty_words(*check.low) + " to " +
            duty_words(*check.high);
    if (check.requirement) text += " (" + check.source + ")";
  } else {
    text += time_words(*check.value - *check.expanded_uncertainty) + " to " +
            time_words(*check.value + *check.expanded_uncertainty) +
            " rms, as far as sampling lets it show; at most " +
            time_words(*check.high) + " is allowed";
  }
  text += std::string(": ") + decision_name(check.decision);
  if (check.decision == Decision::kUndecided) {
    text += duty ? " (it fails only with edge_skew stated for the instrument)"
                 : " (a faster sampler tells more; it fails only with "
                   "input_jitter_rms stated for the instrument)";
  }
  return text + (check.advisory ? ", advisory only." : ".");
}

}  // namespace clockassay
