// SPDX-License-Identifier: GPL-3.0-or-later
#include "verdict/load_words.h"

#include <algorithm>
#include <cmath>
#include <optional>
#include <string>
#include <utility>

#include "verdict/cause_evidence.h"
#include "verdict/cause_weight.h"
#include "verdict/load_inference.h"
#include "verdict/wording.h"

namespace clockassay {
namespace {

constexpr double kPico = 1e12;

// What boards have across a crystal, MCU pins included, is a few pF; beyond
// this a part is fitted that nobody stated. Chosen.
constexpr Farads kMuchStray(10e-12);

// A value of a part: "15 pF".
std::string part_text(Farads c) {
  return number_text(kPico * c.value(), 4) + " pF";
}

std::string pair_text(const CapacitorPair& pair) {
  if (pair.a.value() == 0.0 && pair.b.value() == 0.0) return "no capacitors";
  if (pair.a == pair.b) return "two of " + part_text(pair.a);
  return part_text(pair.a) + " and " + part_text(pair.b);
}

// Half the width of an interval, for the digits its ends have.
double half_width_pf(Farads low, std::optional<Farads> high) {
  return high ? 0.5 * kPico * (*high - low).value() : kPico * low.value();
}

std::string pf_text(Farads c, double half_width) {
  return ppm_text(kPico * c.value(), half_width);
}

// "8.91 pF (8.33 … 9.54 pF)"; without a best value the interval alone.
std::string with_interval(std::optional<Farads> best, Farads low,
                          std::optional<Farads> high) {
  const double half_width = half_width_pf(low, high);
  const std::string interval = high ? pf_text(low, half_width) + " … " +
                                          pf_text(*high, half_width) + " pF"
                                    : pf_text(low, half_width) + " pF and more";
  if (!best) return interval;
  return pf_text(*best, half_width) + " pF (" + interval + ")";
}

std::string seen_text(const LoadInference& load) {
  return "the crystal sees " +
         with_interval(load.seen, load.seen_low, load.seen_high);
}

std::string signed_ppm(double ppm, double u_ppm) {
  const std::string text = ppm_text(ppm, u_ppm);
  const bool is_zero = text.find_first_not_of("0.") == std::string::npos;
  return (ppm > 0.0 && !is_zero ? "+" : "") + text;
}

// "+2.1 ppm (-6.0 … +9.8 ppm)"
std::string prediction_text(const CapacitorFit& fit) {
  const double u = 0.5 * (fit.high - fit.low).value();
  return signed_ppm(fit.predicted.value(), u) + " ppm (" +
         signed_ppm(fit.low.value(), u) + " … " +
         signed_ppm(fit.high.value(), u) + " ppm)";
}

std::string assumed_sentence(const LoadInference& load) {
  if (load.assumed.empty()) return "";
  std::string list;
  for (const std::string& one : load.assumed) {
    list += (list.empty() ? "" : "; ") + one;
  }
  return " Assumed, because not stated: " + list + ".";
}

std::string limits_text(const ToleranceBand& make) {
  return band_text(make.low_ppm.to_double(), make.high_ppm.to_double());
}

// What a make tolerance without zero in it is taken to mean.
std::string aim_sentence(const LoadInference& load) {
  if (load.aim.value() == 0.0) return "";
  return " The make tolerance does not contain the expected frequency: the "
         "crystal is taken to be made for its middle, " +
         std::string(load.aim.value() > 0.0 ? "+" : "") +
         number_text(load.aim.value(), 6) +
         " ppm at the load asked for, and that is what is aimed at.";
}

std::string differs_reason(const LoadInference& load,
                           const ToleranceBand& make) {
  std::string sentence = "The load: " + seen_text(load) + " where " +
                         part_text(load.nominal) + " are asked for";
  if (load.seen) {
    const double half_width = half_width_pf(load.seen_low, load.seen_high);
    const Farads missing = load.nominal - *load.seen;
    sentence += ", " + pf_text(Farads(std::abs(missing.value())), half_width) +
                (missing.value() > 0.0 ? " pF too little" : " pF too much");
  }
  return sentence +
         ". In this, the crystal itself may be off by its make tolerance, " +
         limits_text(make) + ", and the measurement by U." +
         aim_sentence(load) + assumed_sentence(load);
}

// Why the capacitors cannot be what is stated; empty: nothing against it.
std::string stray_objection(const ImpliedStray& stray) {
  if (stray.high && stray.high->value() < 0.0) {
    return "Less than none: other capacitors are fitted, or the crystal "
           "itself is off.";
  }
  if (!stray.agrees_with_stated) {
    return "Stated are " + part_text(*stray.stated) +
           ": that does not agree, so other capacitors may be fitted.";
  }
  if (stray.low > (stray.per_pin ? 2.0 : 1.0) * kMuchStray) {
    return "That is more than boards usually have: other capacitors may be "
           "fitted.";
  }
  return "";
}

std::string stray_reason(const LoadInference& load) {
  const ImpliedStray& stray = *load.stray;
  const std::string objection = stray_objection(stray);
  return "With " + pair_text(*load.fitted) + " fitted that leaves " +
         with_interval(stray.best, stray.low, stray.high) + " of stray " +
         (stray.per_pin ? "from each pin to ground" : "across the crystal") +
         "." + (objection.empty() ? "" : " " + objection);
}

// Where the causes already say how to solder safely it is not said again.
std::string caution(const Verdict& verdict) {
  const bool is_said = std::any_of(
      verdict.causes.begin(), verdict.causes.end(), [](const Cause& c) {
        return c.advice.find("Before soldering") != std::string::npos;
      });
  if (is_said) return " Mind the cautions named with the cause.";
  return " " + soldering_caution();
}

// After a prediction that is no remedy.
std::string outside_text(const CapacitorFit& fit) {
  return fit.is_within_limits ? "" : ", outside the limits";
}

std::string fit_advice(const LoadInference& load, const ToleranceBand& make,
                       const Verdict& verdict) {
  const CapacitorFit& fit = *load.fit;
  std::string sentence = stray_objection(*load.stray).empty()
                             ? "Fit "
                             : "First look which capacitors are fitted; if "
                               "they are as stated, fit ";
  sentence += pair_text(fit.capacitors) + " instead of " +
              pair_text(*load.fitted) + ": predicted " + prediction_text(fit) +
              " with capacitors within ±" +
              number_text(100.0 * load.capacitor_tolerance, 3) + " %.";
  if (!fit.is_sure_to_help) {
    sentence += load.assumed.empty()
                    ? " That may turn out no better than it is now."
                    : " That may turn out no better than it is now: first "
                      "state the crystal's C0 and C1, or try one board.";
  }
  if (!fit.is_within_limits) {
    sentence += " That is still outside the limits, " + limits_text(make) +
                ": change the stray, or take a crystal for another load.";
  }
  if (load.closest) {
    sentence += " Closer, of unequal capacitors: " +
                pair_text(load.closest->capacitors) + ", predicted " +
                prediction_text(*load.closest) + outside_text(*load.closest) +
                ".";
  }
  if (load.without) {
    sentence += " Without any: predicted " + prediction_text(*load.without) +
                outside_text(*load.without) + ".";
  }
  return sentence + caution(verdict) + " Then measure again.";
}

std::string change_advice(const LoadInference& load) {
  if (!load.seen) {
    return "No usual crystal is pulled that far: state its C0 and C1 to have "
           "the load worked out.";
  }
  const Farads missing = load.nominal - *load.seen;
  const double half_width = half_width_pf(load.seen_low, load.seen_high);
  const std::string change =
      pf_text(Farads(std::abs(missing.value())), half_width) + " pF";
  const std::string more = missing.value() > 0.0 ? "more" : "less";
  if (!load.fitted) {
    return "The crystal wants " + change + " " + more +
           " load: twice that on each of two equal capacitors. State which "
           "are fitted to have the pair worked out.";
  }
  if (load.stray->high && load.stray->high->value() < 0.0) {
    return "Look which capacitors are fitted before changing any.";
  }
  return "The crystal wants " + change + " " + more +
         " load, and no pair of E24 values, their legs at most 2 : 1, nor "
         "none at all, comes nearer to it than what is fitted: change the "
         "stray, or take a crystal for another load.";
}

void explain(const LoadInference& load, const ToleranceBand& make,
             Verdict& verdict) {
  switch (load.outcome) {
    case LoadOutcome::kNeverTheLoad:
      verdict.reasons.push_back(
          "The load is not the cause: from none to any, it keeps this crystal "
          "within " +
          band_text(std::round(load.slowest.value()),
                    std::round(load.fastest.value())) +
          " of nominal." + assumed_sentence(load));
      return;
    case LoadOutcome::kConsistent:
      verdict.reasons.push_back("The load agrees with the " +
                                part_text(load.nominal) +
                                " asked for: " + seen_text(load) +
                                ", and nothing calls for other capacitors." +
                                aim_sentence(load) + assumed_sentence(load));
      return;
    case LoadOutcome::kDiffers:
      break;
  }
  verdict.reasons.push_back(differs_reason(load, make));
  if (load.stray) verdict.reasons.push_back(stray_reason(load));
  verdict.advice.push_back(load.fit ? fit_advice(load, make, verdict)
                                    : change_advice(load));
}

// Why a requirement is not met, whatever the frequency is: such causes come
// first and explain no frequency.
bool is_of_what_is_asked(CauseCode code) {
  return code == CauseCode::kDivisorOff || code == CauseCode::kSetUpTooTight ||
         code == CauseCode::kPartTooLoose;
}

// Something else, and the crystal's own offset is not as likely.
bool is_explained_otherwise(const Verdict& verdict) {
  std::optional<int> best;  // of those that explain it, in order of rank
  for (const Cause& cause : verdict.causes) {
    if (is_of_what_is_asked(cause.code)) continue;
    if (!best) best = cause.rank;
    if (cause.rank == *best && cause.code == CauseCode::kCrystalOff) {
      return false;
    }
  }
  return best.has_value();
}

}  // namespace

void judge_load(const ClockSpec& clock, const ClockEvidence& evidence,
                const MeasuredError& error,
                const std::vector<Warning>& warnings, Verdict& verdict) {
  if (!clock.load) return;
  if (std::any_of(evidence.others.begin(), evidence.others.end(),
                  is_slightly_apart)) {
    verdict.reasons.push_back(
        "No load is worked out while outputs of this source are off by "
        "different ratios: not all of it is the crystal's.");
    return;
  }
  LoadInference load =
      infer_load(*clock.load, Hertz(clock.expect.source_hz.to_double()),
                 clock.tolerance.make, error);
  // Of a gross error nobody would think that.
  const bool is_worth_clearing = load.outcome == LoadOutcome::kNeverTheLoad &&
                                 std::abs(error.ppm) <= kLoadBoundPpm;
  const bool is_shown = verdict.decision == Decision::kFail ||
                        load.outcome == LoadOutcome::kConsistent;
  if (forbids_pass(warnings) || !is_shown) {
    verdict.reasons.push_back(
        "No load is worked out while the frequency is in doubt.");
    return;
  }
  if (is_explained_otherwise(verdict) && !is_worth_clearing) {
    verdict.reasons.push_back(
        "No load is worked out: another cause explains the frequency better.");
    return;
  }
  explain(load, clock.tolerance.make, verdict);
  verdict.load = std::move(load);
}

}  // namespace clockassay
