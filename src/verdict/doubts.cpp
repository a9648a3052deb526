// SPDX-License-Identifier: GPL-3.0-or-later
#include "verdict/doubts.h"

#include <algorithm>
#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "verdict/advice.h"
#include "verdict/aliasing.h"
#include "verdict/damage_causes.h"
#include "verdict/wording.h"

namespace clockassay {
namespace {

constexpr const char* kCaptureWhole =
    "Capture again so that nothing is lost: a rate the instrument sustains, "
    "fewer channels, a clean threshold.";

const char* decision_words(Decision decision) {
  return decision == Decision::kUndecided ? "decide nothing"
                                          : decision_name(decision);
}

// What does away with the warnings that forbid a decision.
std::string settle_warnings(const std::vector<Warning>& warnings) {
  const bool is_rate_alone =
      std::all_of(warnings.begin(), warnings.end(), [](const Warning& w) {
        return !warning_info(w.code).forbids_pass ||
               w.code == WarningCode::kSamplingNotVisible;
      });
  if (is_rate_alone) {
    return "State the sample rate the instrument ran at (--sample-rate): this "
           "capture may decide then.";
  }
  return "Settle the warning named above (usually with another capture, at a "
         "higher sample rate) before trusting the figures.";
}

// How to settle the warnings that forbid what the figures alone would give.
// What outputs differ by shows in every capture alike.
void advise_to_settle(const std::vector<Warning>& warnings, Verdict& verdict) {
  const bool is_for_another =
      std::any_of(warnings.begin(), warnings.end(), [](const Warning& w) {
        return w.code != WarningCode::kOutputsDisagree &&
               warning_info(w.code).forbids_pass;
      });
  if (!is_for_another) return;
  verdict.advice.push_back(settle_warnings(warnings));
}

void advise_on_outputs(const std::vector<Warning>& warnings, Verdict& verdict) {
  if (std::none_of(warnings.begin(), warnings.end(), [](const Warning& w) {
        return w.code == WarningCode::kOutputsDisagree;
      })) {
    return;
  }
  verdict.advice.push_back(
      "Find out which of the outputs is off: compare their factors behind the "
      "point where they part, and put the source itself out on each of the "
      "pins. Where they have two sources, tell these apart with \"source\" in "
      "the specification.");
}

// Whether a fail rests on ppm alone, and with that error would not stand.
bool would_not_fail(const ClockSpec& clock, const MeasuredError& error,
                    const Verdict& verdict) {
  const bool fails_otherwise = std::any_of(
      verdict.checks.begin(), verdict.checks.end(), [](const Check& check) {
        return check.decision == Decision::kFail && !check.advisory &&
               check.unit != "ppm";
      });
  return !fails_otherwise && is_usable(error) &&
         worst_decision(make_checks(clock, error)) != Decision::kFail;
}

// The error of a frequency that is off the measured one by so much.
MeasuredError moved_error(const MeasuredError& error, Ppm difference) {
  MeasuredError moved = error;
  const double ratio = 1.0 + difference.value() * 1e-6;
  moved.ppm = ((1.0 + error.ppm * 1e-6) * ratio - 1.0) * 1e6;
  return moved;
}

// Whether the clock would not fail if it were off by anything between the
// error and `other`: by what of that is nearest to the middle of its band.
bool would_not_fail_between(const ClockSpec& clock, const MeasuredError& error,
                            const MeasuredError& other,
                            const Verdict& verdict) {
  const ToleranceBand& make = clock.tolerance.make;
  const double middle =
      0.5 * (make.low_ppm.to_double() + make.high_ppm.to_double());
  MeasuredError nearest = error;
  nearest.ppm = std::clamp(middle, std::min(error.ppm, other.ppm),
                           std::max(error.ppm, other.ppm));
  return would_not_fail(clock, nearest, verdict) ||
         would_not_fail(clock, other, verdict);
}

}  // namespace

void apply_warnings(const std::vector<Warning>& warnings, Verdict& verdict) {
  const bool passed =
      verdict.decision == Decision::kPass && forbids_pass(warnings);
  const bool failed =
      verdict.decision == Decision::kFail && forbids_fail(warnings);
  if (passed || failed) {
    verdict.decision = Decision::kUndecided;
    advise_to_settle(warnings, verdict);
  }
  advise_on_outputs(warnings, verdict);
  for (const Warning& warning : warnings) {
    const WarningInfo& info = warning_info(warning.code);
    if (!info.forbids_pass) continue;
    const char* lead =
        passed ? "The figures alone would pass, but a warning forbids it: "
        : failed && info.forbids_fail
            ? "The figures alone would fail, but the reading is in doubt: "
            : "A warning bears on these figures: ";
    verdict.reasons.push_back(lead + warning.message + " (" + info.name + ").");
  }
}

void apply_longest_stretch(const ClockSpec& clock,
                           const ClockEvidence& evidence, Verdict& verdict) {
  if (verdict.decision != Decision::kFail || !evidence.longest_stretch) return;
  const EarlierStretch& longest = *evidence.longest_stretch;
  const MeasuredError other =
      measured_error(longest.budget, verdict.expected_frequency.value());
  if (!would_not_fail(clock, other, verdict)) return;
  verdict.decision = Decision::kUndecided;
  verdict.reasons.push_back(
      "The last stretch alone would fail. A longer one of the same clock, "
      "from " +
      number_text(longest.from.value(), 6) + " s to " +
      number_text(longest.to.value(), 6) + " s, is " +
      fast_or_slow(other.ppm, other.expanded_ppm) +
      " with U = " + ppm_text(other.expanded_ppm, other.expanded_ppm) +
      " ppm and would not: what broke the clock's run may be in the figures of "
      "the last.");
  verdict.advice.push_back(kCaptureWhole);
}

void apply_steady_periods(const ClockSpec& clock, const ClockEvidence& evidence,
                          const MeasuredError& error, Verdict& verdict) {
  if (verdict.decision != Decision::kFail || !evidence.steady_periods) return;
  const SteadyPeriods& steady = *evidence.steady_periods;
  std::string would_not;
  if (would_not_fail(clock, moved_error(error, steady.difference), verdict)) {
    would_not = "; those others give " + hertz_text(1.0 / steady.mean.value()) +
                ", which would not fail";
  } else if (steady.of_no_short &&
             would_not_fail_between(clock, error,
                                    moved_error(error, *steady.of_no_short),
                                    verdict)) {
    would_not =
        ", all of them short: samples may be lost there and at short periods "
        "that do not stand out, and without any of these the clock would not "
        "fail";
  } else {
    return;
  }
  verdict.decision = Decision::kUndecided;
  verdict.reasons.push_back(
      "The figures alone would fail, but " + off_periods_text(steady) +
      would_not + ": the mean of all may be that of a damaged capture.");
  verdict.advice.push_back(kCaptureWhole);
}

void judge_counted(const ClockSpec& clock, const ClockEvidence& evidence,
                   const MeasuredError& error, Verdict& verdict) {
  if (evidence.as_captured.value() == 0.0) return;
  const MeasuredError counted = moved_error(error, evidence.as_captured);
  const std::vector<Check> others = make_checks(clock, counted);
  for (std::size_t i = 0; i < others.size(); ++i) {
    Check& check = verdict.checks[i];
    if (!check.counts_pulses || check.decision == others[i].decision) continue;
    check.decision = Decision::kUndecided;
    check.probability_of_conformity.reset();
    check.specific_risk.reset();
    verdict.reasons.push_back(
        check.subject + ": counted as captured the pulses run " +
        fast_or_slow(counted.ppm, counted.expanded_ppm) + ", which would " +
        decision_words(others[i].decision) +
        ". Whether the clock or the capture lost or added them is not seen.");
  }
}

void say_counted(const ClockSpec& clock, const ClockEvidence& evidence,
                 const MeasuredError& error, Verdict& verdict) {
  if (verdict.decision != Decision::kPass) return;
  const double ppm = moved_error(error, evidence.as_captured).ppm;
  const ToleranceBand& make = clock.tolerance.make;
  if (ppm >= make.low_ppm.to_double() && ppm <= make.high_ppm.to_double()) {
    return;
  }
  verdict.reasons.push_back(
      "That is of its periods. Pulses as captured come " +
      fast_or_slow(ppm, error.expanded_ppm) +
      ": what counts them runs so if the clock, and not the capture, lost or "
      "added them.");
}

void apply_sampling_limit(const ClockSpec& clock,
                          const std::vector<Suspect>& suspects,
                          const ClockEvidence& evidence, Verdict& verdict) {
  if (verdict.decision != Decision::kFail || !evidence.sample_interval) return;
  const double samples = 1.0 / (verdict.expected_frequency.value() *
                                evidence.sample_interval->value());
  if (samples >= kFewestSamplesPerPeriod) return;
  verdict.decision = Decision::kUndecided;
  std::string reason = "The expected clock would have only " +
                       number_text(samples, 3) +
                       " samples a period: sampled so, it can look like any "
                       "slower clock";
  std::optional<Alias> alias;
  if (evidence.sample_rate_hz) {
    alias = alias_of(clock.expect.frequency_hz, *evidence.sample_rate_hz);
  }
  if (alias && alias->folds > 0) {
    reason += " (" +
              alias_words(clock.expect.frequency_hz, *alias,
                          *evidence.sample_rate_hz) +
              ")";
  }
  verdict.reasons.push_back(reason + ", and no failure is shown.");
  const double least =
      kFewestSamplesPerPeriod * verdict.expected_frequency.value();
  std::string advice = "Capture at a sample rate of at least " +
                       number_text(least / 1e6, 4) + " MHz";
  if (const auto rate =
          telling_rate(clock, suspects, clock.expect.frequency_hz)) {
    advice += ", such as " + hertz_text(rate->to_double()) +
              ", where nothing expected or suspected looks like it,";
  }
  verdict.advice.push_back(
      advice + " and state it, or route the clock out through a divider.");
}

}  // namespace clockassay
