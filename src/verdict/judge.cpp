// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <cmath>
#include <utility>

#include "clockassay/verdict/verdict.h"
#include "verdict/advice.h"
#include "verdict/aliasing.h"
#include "verdict/cause_evidence.h"
#include "verdict/character_words.h"
#include "verdict/checks.h"
#include "verdict/damage_causes.h"
#include "verdict/disagreement_causes.h"
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

constexpr const char* kCaptureWhole =
    "Capture again so that nothing is lost: a rate the instrument sustains, "
    "fewer channels, a clean threshold.";

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

// How sure that is, where it is worth a word: not beyond what reports show of a
// probability, "> 0.9999".
std::string risk_words(const Check& check) {
  constexpr double kWorthSaying = 1e-4;
  if (!check.probability_of_conformity) return "";
  const auto percent = [](double p) {
    return number_text(100.0 * p, 2) + " %";
  };
  const bool life = check.check == "life";
  const double p = *check.probability_of_conformity;
  if (check.decision == Decision::kUndecided) {
    const std::string is =
        p < kWorthSaying ? "below " + percent(kWorthSaying)
        : p > 1.0 - kWorthSaying
            ? "above " + number_text(100.0 * (1.0 - kWorthSaying), 4) + " %"
            : percent(p);
    return std::string(" The probability that it ") +
           (life ? "stays within its limits, whatever temperature and ageing "
                   "do, is "
                 : "is within its limits is ") +
           is + ".";
  }
  if (!check.specific_risk || *check.specific_risk < kWorthSaying) return "";
  const char* otherwise = life                                ? "may leave"
                          : check.decision == Decision::kPass ? "is outside"
                                                              : "is within";
  return std::string(" The probability that it ") + otherwise +
         " its limits nevertheless is " + percent(*check.specific_risk) + ".";
}

// "The clock runs 61.2 ppm fast (mean of 0.01 s); U = 2.1 ppm (95 %); the limit
// is ±30 ppm." What moves about the mean is another matter.
std::string tolerance_reason(const Check& check, const MeasuredError& error,
                             const Verdict& verdict,
                             const ClockEvidence& evidence) {
  const double U = error.expanded_ppm;
  // A gross error is easier seen as two frequencies.
  constexpr double kGrossPpm = 1e4;
  std::string sentence =
      std::abs(error.ppm) < kGrossPpm
          ? "The clock runs "
          : "The pin shows " +
                hertz_text(evidence.budget.frequency.value.value()) +
                " where " + hertz_text(verdict.expected_frequency.value()) +
                " is expected, ";
  sentence += fast_or_slow(error.ppm, U) + " (mean of " +
              number_text(evidence.duration.value(), 2) +
              " s); U = " + ppm_text(U, U) + " ppm (" +
              coverage_text(error.coverage) + "); the limit is " +
              band_text(*check.low, *check.high) + ".";
  if (check.decision == Decision::kUndecided) {
    sentence += " The interval reaches across the limit.";
  }
  return sentence + risk_words(check);
}

std::string check_reason(const Check& check, const MeasuredError& error) {
  const double U = error.expanded_ppm;
  std::string sentence = check.subject + ": ";
  if (check.check == "life") {
    sentence += "it may come to " + fast_or_slow(*check.value, U) +
                ", U = " + ppm_text(U, U) + " ppm; the limit is ";
  } else {
    sentence += "the limit is ";
  }
  sentence += band_text(*check.low, *check.high) + " (" + check.source +
              "): " + decision_name(check.decision);
  if (check.advisory) return sentence + ", advisory only.";
  return sentence + "." + risk_words(check);
}

const char* decision_words(Decision decision) {
  return decision == Decision::kUndecided ? "decide nothing"
                                          : decision_name(decision);
}

void say(const std::vector<std::string>& sentences, Verdict& verdict) {
  verdict.reasons.insert(verdict.reasons.end(), sentences.begin(),
                         sentences.end());
}

void give_reasons(const ClockSpec& clock, const MeasuredError& error,
                  const ClockEvidence& evidence, Verdict& verdict) {
  for (const Check& check : verdict.checks) {
    if (is_of_pin(check)) {
      verdict.reasons.push_back(pin_reason(check));
      continue;
    }
    if (!check.value || !check.low || !check.high) continue;
    verdict.reasons.push_back(
        check.check == "tolerance"
            ? tolerance_reason(check, error, verdict, evidence)
            : check_reason(check, error));
  }
  say(duties_not_judged(clock), verdict);
  // What fails now needs no word about later.
  if (worst_decision(verdict.checks) == Decision::kFail) return;
  say(life_caveats(clock.tolerance), verdict);
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

// A pass does not stand beside a warning that could flip it, nor a fail beside
// one that doubts how the file is read; any other decision is shown together
// with them.
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

// Where something broke the clock's run, the longest stretch of it has to fail
// as well.
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

// Where a few periods are off all others, the frequency of those others has to
// fail as well, with a U that knows both; where those off are short, whatever
// of the short ones is the clock's own.
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

// What counts pulses runs at their mean rate. Whether cycles were lost by the
// clock or by the capture is open, so what keeps time is held against both.
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

// A pass is one of the periods; that many pulses are missing is for the reader.
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

// A clock the sampler cannot show looks like a slower one: then a capture that
// seems to fail decides nothing either.
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
