// SPDX-License-Identifier: GPL-3.0-or-later
#include "verdict/find_causes.h"

#include <algorithm>
#include <cstddef>
#include <iterator>
#include <string>
#include <utility>

#include "verdict/cause_evidence.h"
#include "verdict/causes.h"
#include "verdict/damage_causes.h"
#include "verdict/disagreement_causes.h"
#include "verdict/modulation.h"
#include "verdict/set_up_cause.h"
#include "verdict/unit_cause.h"
#include "verdict/wording.h"

namespace clockassay {
namespace {

// "an interface asks", "one, another and a third ask".
std::string who_asks(const std::vector<const Check*>& demands) {
  std::string list;
  for (std::size_t i = 0; i < demands.size(); ++i) {
    if (i > 0) list += i + 1 == demands.size() ? " and " : ", ";
    list += demands[i]->subject;
  }
  return list + (demands.size() == 1 ? " asks" : " ask");
}

// The part keeps what was specified of it, and that is not enough.
Cause part_too_loose(const std::vector<const Check*>& demands,
                     const ClockSpec& clock, const MeasuredError& error) {
  Cause cause;
  cause.code = CauseCode::kPartTooLoose;
  cause.cause = "the source keeps its own tolerance, but " + who_asks(demands) +
                " for more";
  cause.expected = Hertz(clock.expect.frequency_hz.to_double());
  cause.residual = Ppm(error.ppm);
  for (const Check* check : demands) {
    cause.evidence.push_back(
        "Within " +
        band_text(clock.tolerance.make.low_ppm.to_double(),
                  clock.tolerance.make.high_ppm.to_double()) +
        " as specified, outside " + band_text(*check->low, *check->high) +
        (demands.size() == 1 ? "." : " (" + check->subject + ")."));
  }
  cause.advice =
      "Choose a source with a tighter tolerance, or trim the load of this "
      "one. " +
      soldering_caution();
  cause.settled_by = "the data sheet of the source";
  cause.rank = 1;
  return cause;
}

// The frequency is off: what explains it.
void explain_error(const ClockSpec& clock, const std::vector<Suspect>& suspects,
                   const ClockEvidence& evidence, const MeasuredError& error,
                   const std::vector<AliasCandidate>& aliases,
                   Verdict& verdict) {
  Diagnosis diagnosis = diagnose(clock, suspects, evidence, error, aliases);
  verdict.causes = std::move(diagnosis.causes);
  if (diagnosis.nearest.empty()) return;
  verdict.reasons.push_back(diagnosis.nearest);
  verdict.advice.push_back(
      "Check that the sample rate in the file is the real one, capture "
      "again at a different rate (an alias moves, a clock stays), and look "
      "for a source not yet among the suspects.");
}

bool fails_by_ppm(const Check& check) {
  return !check.advisory && check.decision == Decision::kFail &&
         check.unit == "ppm";
}

// Over life a requirement fails only where it fails now: that is one demand.
bool is_said_of_now(const Check& check, const std::vector<Check>& checks) {
  return check.check == "life" &&
         std::any_of(checks.begin(), checks.end(), [&](const Check& now) {
           return now.check == "requirement" && fails_by_ppm(now) &&
                  now.requirement == check.requirement;
         });
}

// It is as it was made, and something asks for more.
void explain_demand(const ClockSpec& clock, const MeasuredError& error,
                    Verdict& verdict) {
  std::vector<const Check*> demands;
  for (const Check& check : verdict.checks) {
    if (!fails_by_ppm(check) || is_said_of_now(check, verdict.checks)) continue;
    // What a set-up leaves too little of is no fault of the part.
    if (check.requirement && clock.requirements[*check.requirement].set_up) {
      continue;
    }
    demands.push_back(&check);
  }
  if (demands.empty()) return;
  verdict.causes.push_back(part_too_loose(demands, clock, error));
}

// Its mean is as it was made, and only that.
void explain_spread(const ClockSpec& clock, const ClockEvidence& evidence,
                    const MeasuredError& error, Verdict& verdict) {
  if (left_by_spread(evidence, verdict.checks) == nullptr) return;
  verdict.causes.push_back(spread_alone(clock, evidence, error));
}

// It is within its tolerance, and another output of its source differs.
void explain_disagreement(const ClockSpec& clock, const ClockEvidence& evidence,
                          Verdict& verdict) {
  for (Cause& cause : disagreement_causes(clock, evidence)) {
    verdict.causes.push_back(std::move(cause));
  }
}

// Requirements that what they are set up with leaves too little of.
std::vector<Cause> set_up_causes(const ClockSpec& clock,
                                 const MeasuredError& error, bool as_made,
                                 const std::vector<Check>& checks) {
  std::vector<Cause> causes;
  for (const Check& check : checks) {
    if (check.advisory || check.decision == Decision::kPass) continue;
    if (check.check != "requirement") continue;
    const RequirementAsked& asked = clock.requirements[*check.requirement];
    if (auto cause = set_up_cause(clock, asked, error, as_made)) {
      causes.push_back(*std::move(cause));
    }
  }
  return causes;
}

// What needs no weighing stands before what may explain the frequency.
void explain_by_what_is_asked(const ClockSpec& clock, Hertz measured,
                              const MeasuredError& error, bool as_made,
                              Verdict& verdict) {
  std::vector<Cause> first =
      set_up_causes(clock, error, as_made, verdict.checks);
  auto unit = unit_missing(clock, measured.value());
  if (!as_made && unit) first.push_back(*std::move(unit));
  if (first.empty()) return;
  for (Cause& cause : verdict.causes) ++cause.rank;
  std::move(first.begin(), first.end(),
            std::inserter(verdict.causes, verdict.causes.begin()));
}

void drop_lost_samples(Verdict& verdict) {
  std::erase_if(verdict.causes, [](const Cause& cause) {
    return cause.code == CauseCode::kSamplesLost;
  });
}

}  // namespace

void find_causes(const ClockSpec& clock, const std::vector<Suspect>& suspects,
                 const ClockEvidence& evidence, const MeasuredError& error,
                 const std::vector<AliasCandidate>& aliases,
                 const std::vector<Warning>& warnings, Verdict& verdict) {
  const ToleranceBand& make = clock.tolerance.make;
  const bool as_made = error.ppm >= make.low_ppm.to_double() &&
                       error.ppm <= make.high_ppm.to_double();
  const bool in_doubt = forbids_pass(evidence.warnings);
  const bool passes = verdict.decision == Decision::kPass;
  if (passes || as_made) {
    for (const AliasCandidate& alias : aliases) {
      verdict.causes.push_back(
          alias_cause(alias, evidence.budget.frequency.value));
    }
    if (!passes) explain_demand(clock, error, verdict);
    if (!passes || forbids_pass(warnings)) {
      explain_spread(clock, evidence, error, verdict);
    }
    explain_disagreement(clock, evidence, verdict);
  } else {
    explain_error(clock, suspects, evidence, error, aliases, verdict);
  }
  if (in_doubt || verdict.decision == Decision::kUndecided) {
    for (Cause& cause : damage_causes(evidence)) {
      // What is seen replaces what might be.
      if (cause.code == CauseCode::kSamplesLost) drop_lost_samples(verdict);
      verdict.causes.push_back(std::move(cause));
    }
    // What is seen comes before what would explain a figure.
    std::stable_sort(verdict.causes.begin(), verdict.causes.end(),
                     [](const Cause& a, const Cause& b) {
                       const auto order = [](const Cause& c) {
                         const bool seen =
                             c.code == CauseCode::kPulsesSwallowed ||
                             c.code == CauseCode::kSourceSwitched;
                         return std::pair(c.rank, !seen);
                       };
                       return order(a) < order(b);
                     });
  }
  say_ambiguous(verdict.causes);
  explain_by_what_is_asked(clock, evidence.budget.frequency.value, error,
                           as_made, verdict);
  say_what_is_seen(verdict.causes);
}

}  // namespace clockassay
