// SPDX-License-Identifier: GPL-3.0-or-later
#include "verdict/check_reasons.h"

#include <cmath>
#include <string>
#include <vector>

#include "verdict/checks.h"
#include "verdict/life_stack.h"
#include "verdict/pin_checks.h"
#include "verdict/wording.h"

namespace clockassay {
namespace {

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

void say(const std::vector<std::string>& sentences, Verdict& verdict) {
  verdict.reasons.insert(verdict.reasons.end(), sentences.begin(),
                         sentences.end());
}

}  // namespace

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

}  // namespace clockassay
