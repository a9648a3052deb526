// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <cmath>
#include <utility>

#include "clockassay/verdict/verdict.h"
#include "verdict/advice.h"
#include "verdict/aliasing.h"
#include "verdict/cause_evidence.h"
#include "verdict/character_words.h"
#include "verdict/check_reasons.h"
#include "verdict/checks.h"
#include "verdict/disagreement_causes.h"
#include "verdict/doubts.h"
#include "verdict/find_causes.h"
#include "verdict/life_stack.h"
#include "verdict/load_words.h"
#include "verdict/modulation.h"
#include "verdict/outcomes.h"
#include "verdict/pin_checks.h"
#include "verdict/settling_check.h"
#include "verdict/wording.h"

namespace clockassay {
namespace {

Verdict verdict_on(const ClockSpec& clock) {
  Verdict verdict;
  verdict.clock = clock.name;
  verdict.channel = clock.channel;
  verdict.expected = clock.expect.frequency_hz.to_string();
  verdict.expected_frequency = Hertz(clock.expect.frequency_hz.to_double());
  verdict.nominal_source = Hertz(clock.expect.source_hz.to_double());
  verdict.reasons = clock.remarks;
  return verdict;
}

std::string part_sentence(const Check& check, double low, double high) {
  if (low > high) {
    return check.subject +
           ": temperature and ageing alone span more than the limits leave, "
           "so no measurement can pass it: choose a source with tighter "
           "bands.";
  }
  // Then no centring helps: the limits themselves do not lie about nominal.
  const bool shifted = *check.low > 0.0 || *check.high < 0.0;
  return check.subject + ": to hold over life the clock must now lie within " +
         band_text(low, high) +
         (shifted ? ", which is not about its nominal frequency: set otherwise "
                    "what the limits come from."
                  : ": centre it, or choose a source with tighter bands.");
}

void advise_when_undecided(const ClockSpec& clock, const MeasuredError& error,
                           const ClockEvidence& evidence, Verdict& verdict) {
  // The advice for the check that asks most: the smallest margin.
  std::optional<std::pair<double, double>> hardest;
  std::string subject;
  double smallest = 0.0;
  for (const Check& check : verdict.checks) {
    if (check.advisory || check.decision != Decision::kUndecided) continue;
    if (check.unit != "ppm") continue;
    const auto [low, high] = limits_to_pass(check, clock);
    const bool outside = low > high || error.ppm < low || error.ppm > high;
    if (check.check == "life" && outside) {
      verdict.advice.push_back(part_sentence(check, low, high));
      continue;
    }
    const double margin =
        std::min(std::abs(high - error.ppm), std::abs(error.ppm - low));
    if (hardest && margin >= smallest) continue;
    hardest = {low, high};
    subject = check.subject;
    smallest = margin;
  }
  if (!hardest) return;
  verdict.to_decide =
      numbers_to_decide(error, hardest->first, hardest->second, evidence);
  verdict.to_decide->check = subject;
  const std::vector<std::string> advice =
      advice_to_decide(error, *verdict.to_decide, evidence);
  verdict.advice.insert(verdict.advice.end(), advice.begin(), advice.end());
  if (verdict.to_decide->on_limit || advice.empty()) return;
  const Outcomes outcomes = possible_outcomes(verdict.checks, clock, error);
  verdict.to_decide->can_pass = outcomes.pass;
  verdict.advice.push_back(outcomes_sentence(outcomes));
}

// Not a matter of ppm, and so not among make_checks.
void judge_settling(const ClockSpec& clock, const FrequencyHistory& history,
                    Verdict& verdict) {
  if (!clock.settle_within_s) return;
  SettlingResult settling = check_settling(clock, history);
  verdict.checks.push_back(std::move(settling.check));
  verdict.reasons.push_back(std::move(settling.reason));
}

// Outputs of one source are off by one ratio: else something is not as the
// specification says, whatever the limits allow.
// One that is off its tolerance is judged for that.
std::optional<Warning> outputs_disagree(const ClockEvidence& evidence,
                                        const Check& tolerance) {
  if (tolerance.decision == Decision::kFail) return std::nullopt;
  const OtherClock* other = disagreeing_output(evidence);
  if (other == nullptr) return std::nullopt;
  return Warning{WarningCode::kOutputsDisagree,
                 "\"" + other->name +
                     "\" is expected from the same source and is off by "
                     "another ratio"};
}

// What it is asked why, it may show by how it moves.
void say_character(const ClockEvidence& evidence, Verdict& verdict) {
  if (verdict.decision == Decision::kPass || !evidence.character) return;
  if (auto sentence = behaves_like(*evidence.character)) {
    verdict.reasons.push_back(*std::move(sentence));
  }
}

// Adds what judging it warns of to the verdict; with those of the capture.
std::vector<Warning> warn_of_judging(const ClockSpec& clock,
                                     const ClockEvidence& evidence,
                                     const std::vector<AliasCandidate>& aliases,
                                     Verdict& verdict) {
  std::vector<Warning> warnings = evidence.warnings;
  for (const AliasCandidate& alias : aliases) {
    verdict.warnings.push_back(alias_warning(alias));
    warnings.push_back(verdict.warnings.back());
  }
  for (const auto& warning :
       {outputs_disagree(evidence, verdict.checks.front()),
        modulation_warning(evidence, verdict.checks, clock.settle_within_s)}) {
    if (!warning) continue;
    verdict.warnings.push_back(*warning);
    warnings.push_back(*warning);
  }
  return warnings;
}

Verdict undecidable(Verdict verdict, const ClockSpec& clock,
                    const MeasuredError& error) {
  verdict.decision = Decision::kUndecided;
  verdict.checks = make_checks(clock, error);
  verdict.reasons.push_back(
      "The frequency or its uncertainty is not a usable number, so nothing "
      "can be decided.");
  return verdict;
}

// The tolerance check of a clock there is no figure of.
Check unmeasured_tolerance(const ClockSpec& clock, Decision decision) {
  Check check;
  check.check = "tolerance";
  check.subject = "make tolerance, now";
  check.decision = decision;
  check.low = clock.tolerance.make.low_ppm.to_double();
  check.high = clock.tolerance.make.high_ppm.to_double();
  check.unit = "ppm";
  check.source = "specification";
  return check;
}

}  // namespace

Verdict judge_clock(const ClockSpec& clock,
                    const std::vector<Suspect>& suspects,
                    const ClockEvidence& evidence) {
  Verdict verdict = verdict_on(clock);
  verdict.capture = evidence.capture;
  verdict.channel = evidence.channel;
  const MeasuredError error =
      measured_error(evidence.budget, verdict.expected_frequency.value());
  verdict.coverage = error.coverage;
  if (!is_usable(error)) return undecidable(std::move(verdict), clock, error);
  verdict.error = Ppm(error.ppm);
  verdict.expanded_uncertainty = Ppm(error.expanded_ppm);
  verdict.implied_source =
      Hertz(evidence.budget.frequency.value.value() *
            clock.expect.source_over_frequency.to_double());
  verdict.checks = make_checks(clock, error);
  judge_counted(clock, evidence, error, verdict);
  verdict.life = life_stack(clock.tolerance, error);
  verdict.probability_of_conformity =
      verdict.checks.front().probability_of_conformity;
  for (Check& check : pin_checks(clock, evidence)) {
    verdict.checks.push_back(std::move(check));
  }
  give_reasons(clock, error, evidence, verdict);
  judge_settling(clock, evidence.history, verdict);
  verdict.decision = worst_decision(verdict.checks);
  if (verdict.decision == Decision::kUndecided) {
    advise_when_undecided(clock, error, evidence, verdict);
  }
  apply_longest_stretch(clock, evidence, verdict);
  apply_steady_periods(clock, evidence, error, verdict);
  const std::vector<AliasCandidate> aliases =
      find_aliases(clock, suspects, evidence);
  const std::vector<Warning> warnings =
      warn_of_judging(clock, evidence, aliases, verdict);
  find_causes(clock, suspects, evidence, error, aliases, warnings, verdict);
  apply_warnings(warnings, verdict);
  say_counted(clock, evidence, error, verdict);
  apply_sampling_limit(clock, suspects, evidence, verdict);
  say_character(evidence, verdict);
  judge_load(clock, evidence, error, warnings, verdict);
  return verdict;
}

Verdict judge_missing_clock(const ClockSpec& clock, std::string capture,
                            std::string why) {
  Verdict verdict = verdict_on(clock);
  verdict.capture = std::move(capture);
  verdict.decision = Decision::kFail;
  verdict.reasons.push_back(std::move(why));
  verdict.checks.push_back(unmeasured_tolerance(clock, verdict.decision));
  const auto add = [&](CauseCode code, std::string cause, std::string advice,
                       std::string settled_by) {
    Cause c;
    c.code = code;
    c.cause = std::move(cause);
    c.advice = std::move(advice);
    c.settled_by = std::move(settled_by);
    c.rank = 1;  // nothing in the capture tells them apart
    verdict.causes.push_back(std::move(c));
  };
  add(CauseCode::kOtherChannel,
      "another channel than the one connected, or a probe that is off",
      "Compare probe, ground and channel name with the set-up.",
      "touch the probe to a signal known to toggle");
  add(CauseCode::kPinNotDriven, "the pin does not put the clock out",
      "Check the pin's alternate function, its direction, and the enable bit "
      "of the clock output.",
      "drive the pin as a plain output: the capture must show it");
  add(CauseCode::kSourceStopped, "the oscillator or its PLL does not run",
      "Read its ready flag; look for a fall-back to another source.",
      "measure another output of the same source");
  say_what_is_seen(verdict.causes);
  return verdict;
}

Verdict judge_unmeasured_clock(const ClockSpec& clock, std::string capture,
                               std::string channel, std::string why) {
  Verdict verdict = verdict_on(clock);
  verdict.capture = std::move(capture);
  verdict.channel = std::move(channel);
  verdict.decision = Decision::kUndecided;
  verdict.reasons.push_back(std::move(why));
  verdict.checks.push_back(unmeasured_tolerance(clock, verdict.decision));
  verdict.advice.push_back(
      "Capture more of the clock while it runs; a frequency takes several "
      "regular periods. Look at the signal for ringing or a bad threshold if "
      "it should have been regular.");
  return verdict;
}

}  // namespace clockassay
