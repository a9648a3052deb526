// SPDX-License-Identifier: GPL-3.0-or-later
#include "verdict/causes.h"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <iterator>
#include <limits>
#include <tuple>
#include <utility>

#include "verdict/candidate.h"
#include "verdict/cause_weight.h"
#include "verdict/hypotheses.h"
#include "verdict/open_causes.h"
#include "verdict/other_factor.h"
#include "verdict/wording.h"

namespace clockassay {
namespace {

// Between these the capture and what usually happens cannot choose. Chosen: the
// usual odds of one in ten.
constexpr double kTie = 10.0;

// What explains this much less than the best is not worth a look. Chosen.
constexpr double kWorthNaming = 1.0 / 1000.0;

// Beyond these, a list helps nobody. Chosen.
constexpr std::size_t kMostDoubleSlips = 3;
constexpr std::size_t kMostCauses = 8;

// The same held against another output: what their source does drops out.
Residual residual_beside(const Hypothesis& h, double measured_hz,
                         const OtherClock& other) {
  const double path_ratio = h.path_ratio.value_or(h.ratio).to_double();
  const double f =
      h.frequency_hz.to_double() / h.ratio.to_double() * path_ratio;
  const double without_source = 1.0 + other.error.value() * 1e-6;
  Residual r;
  r.ppm = (measured_hz / without_source - f) / f * 1e6;
  // Of the expected clock; a slip changes it by its ratio.
  r.U_ppm = other.allowed.value() / path_ratio;
  r.allowed_ppm = r.U_ppm;
  return r;
}

Candidate aliased(const AliasCandidate& alias, Hertz measured) {
  Candidate c;
  c.facts.code = CauseCode::kAliased;
  c.slips = alias.is_expected ? 1 : 2;
  c.exact_hz = alias.alias.frequency_hz;
  c.window_ppm = alias.allowed_ppm;
  c.residual_windows = std::abs(alias.residual_ppm) / alias.allowed_ppm;
  // A rate too low for the expected clock is the likelier mistake.
  constexpr double kOfAnother = 0.1;
  c.weight = usual_share(CauseCode::kAliased) *
             window_density(alias.allowed_ppm) *
             (alias.is_expected ? 1.0 : kOfAnother);
  c.cause = alias_cause(alias, measured);
  return c;
}

// The clock that is expected on another channel.
void append_exchanged(const ClockSpec& clock, const ClockEvidence& evidence,
                      double f, double U_hz, double source_hz,
                      std::vector<Candidate>& candidates) {
  for (const OtherClock& other : evidence.others) {
    const auto ratio = divide(other.expected_hz, clock.expect.frequency_hz);
    if (!ratio || *ratio == Rational(1)) continue;
    Hypothesis h;
    h.code = CauseCode::kOtherChannel;
    h.cause = "this is the clock that is expected on \"" + other.name + "\"";
    h.expression = "\"" + other.name + "\"";
    h.ratio = *ratio;
    h.frequency_hz = other.expected_hz;
    h.source_ppm = clock.tolerance.make;
    h.advice = "Compare channel names and probes with the set-up.";
    h.settled_by = "touch the probe to a signal known to toggle";
    const Residual r = residual_of(h, f, U_hz);
    if (std::abs(r.ppm) > r.allowed_ppm) continue;
    candidates.push_back(candidate_of(h, r, f, source_hz));
    // Where the other is in its place, one clock is on two channels.
    constexpr double kOnTwo = 0.05;
    if (other.is_right) candidates.back().weight *= kOnTwo;
  }
}

Hypothesis hypothesis_of(const ClockSpec& clock, const OtherFactor& other,
                         const Rational& frequency) {
  const std::string ratio = other.ratio.to_string();
  Hypothesis h;
  h.code = CauseCode::kOtherFactor;
  h.cause = "a factor of the path is another: " + ratio +
            " of what is intended" +
            (other.words.empty() ? "" : " (" + other.words + ")");
  h.expression = expression_times(clock.expect, other.ratio);
  h.ratio = other.ratio;
  h.frequency_hz = frequency;
  h.source_ppm = clock.tolerance.make;
  h.factor = other.factor.value_or(0);
  h.advice =
      "Read the clock registers back on the board and look for the factors "
      "that give this ratio.";
  h.settled_by =
      "measure the source itself, or a clock that does not pass these factors";
  return h;
}

// Some other whole numbers on the path, which no slip with a name of its own
// gives.
void append_other_factors(const ClockSpec& clock, double f, double U_hz,
                          double source_hz,
                          std::vector<Candidate>& candidates) {
  const double expected = clock.expect.frequency_hz.to_double();
  const double make = make_ppm(clock);
  if (make > kNoCrystalPpm) return;
  const double reach = U_hz / expected + f / expected * make * 1e-6;
  std::vector<Candidate> found;
  for (const OtherFactor& other :
       find_other_factors(clock.expect, f / expected, reach)) {
    const bool is_listed = std::any_of(
        candidates.begin(), candidates.end(), [&](const Candidate& c) {
          return c.slips == 1 && c.facts.factor &&
                 c.cause.ratio == other.ratio.to_string();
        });
    const auto frequency = multiply(clock.expect.frequency_hz, other.ratio);
    if (is_listed || !frequency) continue;
    const Hypothesis h = hypothesis_of(clock, other, *frequency);
    const Residual r = residual_of(h, f, U_hz);
    if (std::abs(r.ppm) > r.allowed_ppm) continue;
    found.push_back(candidate_of(h, r, f, source_hz));
    found.back().weight *= other.share;
  }
  std::move(found.begin(), found.end(), std::back_inserter(candidates));
}

// What a member of a kind has of how often the kind happens.
double member_share(const std::vector<Hypothesis>& hypotheses,
                    const Hypothesis& h) {
  if (h.share > 0.0) return h.share;
  double left = 1.0;
  double members = 0.0;
  for (const Hypothesis& other : hypotheses) {
    if (other.code != h.code) continue;
    left -= other.share;
    if (other.share == 0.0) members += 1.0;
  }
  return left / members;
}

// The same figure, as far as U tells, from as narrow a source: no capture tells
// them apart.
bool is_same_figure(const Candidate& a, const Candidate& b, double U_ppm) {
  if (!a.exact_hz || !b.exact_hz || a.slips != b.slips) return false;
  // One of many numbers that might be set comes near to anything.
  if (a.facts.code == CauseCode::kOtherFactor ||
      b.facts.code == CauseCode::kOtherFactor) {
    return false;
  }
  const double apart = a.exact_hz->to_double() / b.exact_hz->to_double() - 1.0;
  return std::abs(apart) * 1e6 <= U_ppm && a.window_ppm < kTie * b.window_ppm &&
         b.window_ppm < kTie * a.window_ppm;
}

// Sorts into ranks: each holds what its best cannot outrank.
void rank_candidates(double U_ppm, std::vector<Candidate>& candidates) {
  std::stable_sort(candidates.begin(), candidates.end(),
                   [](const Candidate& a, const Candidate& b) {
                     return a.weight > b.weight;
                   });
  int rank = 0;
  for (std::size_t i = 0; i < candidates.size(); ++i) {
    if (candidates[i].cause.rank != 0) continue;
    candidates[i].cause.rank = ++rank;
    for (std::size_t j = i + 1; j < candidates.size(); ++j) {
      if (candidates[j].cause.rank == 0 &&
          (candidates[j].weight * kTie > candidates[i].weight ||
           (candidates[j].is_usual_load && !candidates[i].from_suspect) ||
           is_same_figure(candidates[i], candidates[j], U_ppm))) {
        candidates[j].cause.rank = rank;
      }
    }
  }
  std::stable_sort(
      candidates.begin(), candidates.end(),
      [](const Candidate& a, const Candidate& b) {
        return std::tuple(a.cause.rank, !a.from_suspect, -a.weight) <
               std::tuple(b.cause.rank, !b.from_suspect, -b.weight);
      });
}

void keep_worth_naming(std::vector<Candidate>& candidates) {
  double best = unknown_weight();
  for (const Candidate& c : candidates) best = std::max(best, c.weight);
  std::erase_if(candidates, [&](const Candidate& c) {
    return c.weight < kWorthNaming * best || c.weight < unknown_weight();
  });
}

std::string nearest_sentence(const Hypothesis& h, const Residual& r) {
  return "Nothing exact explains it. The nearest is \"" + h.cause + "\" with " +
         hertz_text(h.frequency_hz.to_double()) + ", but the pin is " +
         above_or_below(r.ppm, r.U_ppm) + " that, where at most " +
         offset_text(r.allowed_ppm, r.U_ppm) + " would fit.";
}

// Candidates in order of rank.
void keep_few(std::vector<Candidate>& candidates) {
  std::size_t doubles = 0;
  std::erase_if(candidates, [&](const Candidate& c) {
    return c.slips > 1 && ++doubles > kMostDoubleSlips;
  });
  if (candidates.size() > kMostCauses) candidates.resize(kMostCauses);
}

// Somebody's own figures: no usual values.
bool is_named(CauseCode code) {
  return code == CauseCode::kOtherSource || code == CauseCode::kOffByOne ||
         code == CauseCode::kFactorMissing || code == CauseCode::kFactorTwice ||
         code == CauseCode::kPathDoubled || code == CauseCode::kPathHalved;
}

// A slip behind the point where another output leaves.
bool is_behind(const Hypothesis& h, const OtherClock& other) {
  return other.same_source && h.factor && *h.factor >= other.shared_factors;
}

// Fits beside another output, whatever their source is off.
std::optional<Candidate> beside_output(const Hypothesis& h, double f,
                                       double source_hz,
                                       const OtherClock& other) {
  if (!is_behind(h, other)) return std::nullopt;
  const Residual r = residual_beside(h, f, other);
  if (std::abs(r.ppm) > r.allowed_ppm) return std::nullopt;
  Candidate c = candidate_of(h, r, f, source_hz);
  // With the source off as well two things are wrong. Chosen.
  constexpr double kSecondFault = 0.1;
  if (!other.is_right && h.slips == 1) c.weight *= kSecondFault;
  c.cause.evidence.front() =
      "Beside \"" + other.name + "\", which is " +
      fast_or_slow(other.error.value(), other.allowed.value()) + ", " +
      h.expression + " fits within " + ppm_text(r.ppm, r.U_ppm) +
      " ppm, where " + ppm_text(r.U_ppm, r.U_ppm) + " are not known.";
  return c;
}

// The hypotheses whose figure fits; the nearest that does not goes to
// `nearest`.
std::vector<Candidate> fitting(const std::vector<Hypothesis>& hypotheses,
                               const std::vector<OtherClock>& others, double f,
                               double U_hz, double source_hz,
                               std::string& nearest) {
  std::vector<Candidate> candidates;
  double least = std::numeric_limits<double>::infinity();
  for (const Hypothesis& h : hypotheses) {
    const Residual r = residual_of(h, f, U_hz);
    std::optional<Candidate> best;
    if (std::abs(r.ppm) <= r.allowed_ppm) {
      best = candidate_of(h, r, f, source_hz);
    }
    // A source that is named has to explain the figure itself as well.
    const bool may_be_beside = h.slips == 1 || best.has_value();
    for (const OtherClock& other : others) {
      auto beside =
          may_be_beside ? beside_output(h, f, source_hz, other) : std::nullopt;
      if (beside && (!best || beside->weight > best->weight)) {
        best = std::move(beside);
      }
    }
    if (best) {
      best->weight *= member_share(hypotheses, h);
      candidates.push_back(*std::move(best));
    } else if (h.slips == 1 && is_named(h.code) && std::abs(r.ppm) < least) {
      least = std::abs(r.ppm);
      nearest = nearest_sentence(h, r);
    }
  }
  return candidates;
}

// Whether something explains the figure itself, and not just any.
bool explains_figure(const Candidate& c) {
  if (c.exact_hz) return c.window_ppm < kNoCrystalPpm;
  return c.is_spread_there || c.cause.code == CauseCode::kCrystalOff ||
         c.cause.code == CauseCode::kSourceOff ||
         c.cause.code == CauseCode::kTimebaseOff;
}

std::vector<Hypothesis> all_hypotheses(const ClockSpec& clock,
                                       const std::vector<Suspect>& suspects,
                                       const ClockEvidence& evidence) {
  std::vector<Hypothesis> all = make_hypotheses(clock, suspects);
  append_usual(clock, suspects, all);
  if (evidence.jitter) {
    append_in_turns(clock, *evidence.jitter, evidence.budget.frequency.value,
                    evidence.window, all);
  }
  return all;
}

}  // namespace

void say_ambiguous(std::vector<Cause>& causes) {
  for (Cause& cause : causes) {
    std::string others;
    for (const Cause& other : causes) {
      if (&other == &cause || other.rank != cause.rank) continue;
      others += (others.empty() ? "\"" : ", \"") + other.cause + "\"";
    }
    if (others.empty()) continue;
    cause.evidence.push_back(
        "Ambiguous: this capture fits " + others +
        " as well; one more measurement tells them apart: " + cause.settled_by +
        ".");
  }
}

Cause spread_alone(const ClockSpec& clock, const ClockEvidence& evidence,
                   const MeasuredError& error) {
  std::vector<Candidate> alone = {spread_spectrum(
      clock, evidence, error, clock.expect.frequency_hz.to_double())};
  // That the means of other outputs are right is no evidence against it.
  ClockEvidence own = evidence;
  own.others.clear();
  weigh(own, alone);
  alone.front().cause.rank = 1;
  return alone.front().cause;
}

Diagnosis diagnose(const ClockSpec& clock, const std::vector<Suspect>& suspects,
                   const ClockEvidence& evidence, const MeasuredError& error,
                   const std::vector<AliasCandidate>& aliases) {
  const Hertz measured = evidence.budget.frequency.value;
  const double f = measured.value();
  const double U_hz =
      error.expanded_ppm * 1e-6 * clock.expect.frequency_hz.to_double();
  const double source_hz = f * clock.expect.source_over_frequency.to_double();
  Diagnosis diagnosis;
  const std::vector<Hypothesis> hypotheses =
      all_hypotheses(clock, suspects, evidence);
  std::vector<Candidate> candidates = fitting(
      hypotheses, evidence.others, f, U_hz, source_hz, diagnosis.nearest);
  append_exchanged(clock, evidence, f, U_hz, source_hz, candidates);
  append_other_factors(clock, f, U_hz, source_hz, candidates);
  append_open(clock, evidence, error, candidates);
  for (const AliasCandidate& alias : aliases) {
    candidates.push_back(aliased(alias, measured));
  }
  weigh(evidence, candidates);
  keep_worth_naming(candidates);
  rank_candidates(U_hz / f * 1e6, candidates);
  keep_few(candidates);
  bool explained = false;
  for (Candidate& c : candidates) {
    explained = explained || (c.cause.rank == 1 && explains_figure(c));
    diagnosis.causes.push_back(std::move(c.cause));
  }
  if (explained) {
    diagnosis.nearest.clear();
  } else if (diagnosis.nearest.empty()) {
    diagnosis.nearest = "Nothing exact explains it.";
  }
  return diagnosis;
}

}  // namespace clockassay
