// SPDX-License-Identifier: GPL-3.0-or-later
#include "verdict/causes.h"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <iterator>
#include <limits>
#include <tuple>
#include <utility>

#include "verdict/cause_evidence.h"
#include "verdict/cause_weight.h"
#include "verdict/hypotheses.h"
#include "verdict/load_inference.h"
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

// A source specified wider than this has no crystal.
constexpr double kNoCrystalPpm = 1000.0;

struct Candidate {
  Cause cause;
  CauseFacts facts;
  int slips = 1;
  bool from_suspect = false;
  std::optional<Rational> exact_hz;  // absent: explains no figure of its own
  double window_ppm = 0.0;           // U and tolerance, half-width
  bool is_spread_there = false;      // one that is seen puts the mean there
  double residual_windows = 0.0;
  double weight = 0.0;
  /// Of a crystal as far off as its load usually takes it: how many are is
  /// guessed, and no exact figure near it is proof.
  bool is_usual_load = false;
};

struct Residual {
  double ppm = 0.0;
  double U_ppm = 0.0;        // of the hypothesis' frequency
  double allowed_ppm = 0.0;  // tolerance on the side of the residual, and U
};

Residual residual_of(const Hypothesis& h, double measured_hz,
                     double relative_U_hz) {
  const double f = h.frequency_hz.to_double();
  Residual r;
  r.ppm = (measured_hz - f) / f * 1e6;
  r.U_ppm = relative_U_hz / f * 1e6;
  const double tolerance =
      r.ppm >= 0.0 ? std::max(0.0, h.source_ppm.high_ppm.to_double())
                   : std::max(0.0, -h.source_ppm.low_ppm.to_double());
  r.allowed_ppm = r.U_ppm + tolerance;
  return r;
}

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

Candidate candidate_of(const Hypothesis& h, const Residual& r,
                       double measured_hz, double source_hz) {
  Candidate c;
  c.facts = {h.code,
             std::max(std::abs(h.source_ppm.low_ppm.to_double()),
                      std::abs(h.source_ppm.high_ppm.to_double())),
             h.factor};
  c.slips = h.slips;
  c.from_suspect = h.from_suspect;
  c.exact_hz = h.frequency_hz;
  c.window_ppm = r.allowed_ppm;
  c.residual_windows = std::abs(r.ppm) / r.allowed_ppm;
  c.weight = usual_share(h.code) * window_density(r.allowed_ppm);
  c.cause.code = h.code;
  c.cause.cause = h.cause;
  if (h.ratio != Rational(1)) c.cause.ratio = h.ratio.to_string();
  c.cause.expected = Hertz(h.frequency_hz.to_double());
  c.cause.residual = Ppm(r.ppm);
  c.cause.evidence.push_back(
      h.expression + " gives " + hertz_text(h.frequency_hz.to_double()) +
      "; measured " + hertz_text(measured_hz) + ", " +
      above_or_below(r.ppm, r.U_ppm) + " that. Its source is allowed " +
      band_text(h.source_ppm.low_ppm.to_double(),
                h.source_ppm.high_ppm.to_double()) +
      ", U = " + ppm_text(r.U_ppm, r.U_ppm) + " ppm.");
  c.cause.evidence.push_back(
      "On the intended path the measured frequency means a source of " +
      hertz_text(source_hz) + "; the ratio to the intended one is " +
      h.ratio.to_string() + ".");
  if (!h.seen.empty()) c.cause.evidence.push_back(h.seen);
  c.cause.advice = h.advice;
  c.cause.settled_by = h.settled_by;
  return c;
}

// What gives no figure of its own: `share` of all that happens, `density` at
// the measured frequency.
Candidate open_candidate(CauseCode code, double share, double density,
                         const MeasuredError& error, double expected_hz) {
  Candidate c;
  c.facts.code = code;
  c.weight = share * density;
  c.cause.code = code;
  c.cause.expected = Hertz(expected_hz);
  c.cause.residual = Ppm(error.ppm);
  return c;
}

double make_ppm_of(const ClockSpec& clock) {
  return std::max(std::abs(clock.tolerance.make.low_ppm.to_double()),
                  std::abs(clock.tolerance.make.high_ppm.to_double()));
}

// What the load that is stated says of its being the cause; kDiffers as well
// where none is stated.
LoadOutcome load_outcome(const ClockSpec& clock, const MeasuredError& error) {
  if (!clock.load) return LoadOutcome::kDiffers;
  return infer_load(*clock.load, Hertz(clock.expect.source_hz.to_double()),
                    clock.tolerance.make, error)
      .outcome;
}

std::string solder_safely() {
  return soldering_caution() +
         " Let the part rest for hours before judging single ppm.";
}

// Which way the crystal is off: of limits that it misses, on which side; of
// others that it keeps, against the expected frequency.
bool runs_fast(const ToleranceBand& make, double error_ppm) {
  if (error_ppm < make.low_ppm.to_double()) return false;
  return error_ppm > make.high_ppm.to_double() || error_ppm > 0.0;
}

// Limits without zero in them, which say what the part is made for.
bool excludes_nominal(const ToleranceBand& make) {
  return make.low_ppm.sign() > 0 || make.high_ppm.sign() < 0;
}

std::string made_for(const ToleranceBand& make) {
  return "Its make tolerance, " +
         band_text(make.low_ppm.to_double(), make.high_ppm.to_double()) +
         ", is taken to say what the part is made for, which is not the "
         "expected frequency itself: fast and slow are meant against it.";
}

void blame_load(bool fast, Cause& cause) {
  cause.cause =
      fast ? "the crystal runs fast: load capacitors too small, or the part "
             "itself is off"
           : "the crystal runs slow: load capacitors too large, or the part "
             "itself is off";
  cause.evidence.back() +=
      " The load can move a crystal by up to " + number_text(kLoadBoundPpm, 4) +
      " ppm and usually does by less than " + number_text(kUsualLoadPpm, 4) +
      " ppm: more load is slower, less load is faster.";
  cause.advice =
      "Compare the load the crystal sees (both capacitors in series, plus "
      "stray) with the load its data sheet asks for; fit " +
      std::string(fast ? "larger" : "smaller") + " capacitors if it differs. " +
      solder_safely();
}

// The load is as asked for, or could not do it.
void blame_part(bool fast, LoadOutcome outcome, Cause& cause) {
  cause.cause = fast ? "the crystal itself runs fast, and not by its load"
                     : "the crystal itself runs slow, and not by its load";
  cause.evidence.push_back(
      outcome == LoadOutcome::kConsistent
          ? "The load it sees agrees with the one it is made for, as far as U "
            "and its make tolerance tell."
          : "No load pulls this crystal that far.");
  cause.advice =
      "Look what is printed on the part and which one was ordered; fit another "
      "of the right kind where it is off. " +
      solder_safely();
}

// Load capacitors or the crystal itself: any offset physics allows.
Candidate crystal_off(const ClockSpec& clock, const MeasuredError& error,
                      double expected_hz) {
  Candidate c = open_candidate(
      CauseCode::kCrystalOff, usual_share(CauseCode::kCrystalOff),
      crystal_off_density(error, make_ppm_of(clock)), error, expected_hz);
  c.facts.source_ppm = make_ppm_of(clock);
  c.cause.evidence.push_back("The pin is " +
                             above_or_below(error.ppm, error.expanded_ppm) +
                             " " + hertz_text(expected_hz) + ".");
  const ToleranceBand& make = clock.tolerance.make;
  const bool fast = runs_fast(make, error.ppm);
  const LoadOutcome outcome = load_outcome(clock, error);
  if (outcome == LoadOutcome::kDiffers) {
    blame_load(fast, c.cause);
  } else {
    blame_part(fast, outcome, c.cause);
  }
  if (excludes_nominal(make)) c.cause.evidence.push_back(made_for(make));
  // So far off by itself is seldom. Chosen.
  constexpr double kNotByLoad = 0.05;
  if (outcome == LoadOutcome::kNeverTheLoad) c.weight *= kNotByLoad;
  c.is_usual_load = outcome != LoadOutcome::kNeverTheLoad &&
                    std::abs(error.ppm) <= kUsualLoadPpm;
  c.cause.settled_by =
      "measure every output of this crystal: all must show the same ppm; and "
      "repeat with a timebase checked against a known clock. Do not probe the "
      "crystal pins, a probe is load too";
  return c;
}

// A source that is no crystal, as expected but for its frequency.
Candidate source_off(const ClockSpec& clock, const MeasuredError& error,
                     double expected_hz) {
  Candidate c = open_candidate(
      CauseCode::kSourceOff, usual_share(CauseCode::kSourceOff),
      source_off_density(error, make_ppm_of(clock)), error, expected_hz);
  c.facts.source_ppm = make_ppm_of(clock);
  c.cause.cause = "the source is further off than is specified of it";
  c.cause.evidence.push_back(
      "The pin is " + above_or_below(error.ppm, error.expanded_ppm) + " " +
      hertz_text(expected_hz) + ", where the source is allowed " +
      band_text(clock.tolerance.make.low_ppm.to_double(),
                clock.tolerance.make.high_ppm.to_double()) +
      ".");
  c.cause.advice =
      "Check its trim value, supply and temperature against the data sheet; a "
      "crystal is needed where that is not enough.";
  c.cause.settled_by = "measure it at another temperature and supply";
  return c;
}

Candidate timebase_off(const ClockEvidence& evidence,
                       const MeasuredError& error, double expected_hz) {
  Candidate c = open_candidate(CauseCode::kTimebaseOff,
                               timebase_share(evidence.timebase.kind),
                               timebase_off_density(error), error, expected_hz);
  c.cause.cause =
      "the capturing instrument's own time is further off than is " +
      std::string(evidence.timebase.kind == TimebaseKind::kAssumed ? "assumed"
                                                                   : "stated");
  c.cause.evidence.push_back(
      "Its tolerance counts with ±" +
      number_text(evidence.timebase.tolerance.value(), 4) +
      " ppm; beyond that this capture cannot tell it from the clock.");
  c.cause.advice =
      "Capture a known clock on another channel (--reference), or calibrate "
      "the instrument once against one.";
  c.cause.settled_by = "a reference beside the clock, in one capture";
  return c;
}

bool has_multiplier(const ClockPath& path) {
  return std::any_of(
      path.factors.begin(), path.factors.end(),
      [](const PathFactor& f) { return !f.divides && f.value > Rational(1); });
}

// How far a loop without lock may be off: a half either way.
constexpr double kUnlockedReachPpm = 5e5;

Candidate not_locked(const MeasuredError& error, double expected_hz) {
  Candidate c = open_candidate(
      CauseCode::kNotLocked, usual_share(CauseCode::kNotLocked),
      anywhere_density(error.ppm, kUnlockedReachPpm), error, expected_hz);
  c.cause.cause = "the loop that multiplies the clock has not locked";
  c.cause.evidence.push_back(
      "The path multiplies, and a loop without lock runs anywhere.");
  c.cause.advice =
      "Read the lock flag; check that the loop's input and its oscillator stay "
      "within the data sheet's limits with these factors.";
  c.cause.settled_by =
      "capture twice some seconds apart, or with a hand-warm chip: a locked "
      "loop stays, another moves";
  return c;
}

// A modulation that is not seen has to explain something. Chosen: a tenth of a
// per cent downwards; about the middle it moves no mean, and upwards hardly any
// clock is spread.
constexpr double kLeastSpreadPpm = 500.0;

// Where the expected frequency lies in a spread that is seen, in words.
std::string place_in_spread(const SpreadSpectrum& spread,
                            const MeasuredError& error, double make_ppm) {
  const std::string range =
      "The frequency goes up and down by " +
      ppm_text(0.5 * spread.depth.value(), spread.depth_uncertainty.value()) +
      " ppm either way of its mean";
  switch (spread_place(spread, error, make_ppm)) {
    case SpreadPlace::kDown:
      return range +
             ": the expected one is the upper end, and the mean is half the "
             "depth below it.";
    case SpreadPlace::kCentre:
      return range + ": the expected one is in the middle.";
    case SpreadPlace::kOther:
      break;
  }
  return range + "; that the mean is off so far it does not explain.";
}

Candidate spread_spectrum(const ClockSpec& clock, const ClockEvidence& evidence,
                          const MeasuredError& error, double expected_hz) {
  const double make_ppm = make_ppm_of(clock);
  const double density = evidence.spread
                             ? spread_density(*evidence.spread, error, make_ppm)
                             : anywhere_density(error.ppm, kSpreadReachPpm);
  Candidate c = open_candidate(CauseCode::kSpreadSpectrum,
                               usual_share(CauseCode::kSpreadSpectrum), density,
                               error, expected_hz);
  c.is_spread_there =
      evidence.spread &&
      spread_place(*evidence.spread, error, make_ppm) != SpreadPlace::kOther;
  c.cause.cause = "spread spectrum is switched on";
  c.cause.evidence.push_back(
      evidence.spread
          ? place_in_spread(*evidence.spread, error, make_ppm)
          : "A clock spread downwards by half a per cent runs 2500 ppm slow on "
            "average.");
  c.cause.advice =
      "Switch it off where the clock drives an interface that "
      "does not allow it; emissions then have to be checked "
      "again.";
  c.cause.settled_by =
      evidence.spread
          ? "switch it off and capture again: the modulation is gone"
          : "measure with --spectrum and a capture of a millisecond or more";
  return c;
}

Candidate output_alone(const MeasuredError& error, double expected_hz) {
  Candidate c = open_candidate(
      CauseCode::kOutputAlone, usual_share(CauseCode::kOutputAlone),
      anywhere_density(error.ppm, kUnlockedReachPpm), error, expected_hz);
  c.cause.cause =
      "the fault is behind the point where this output leaves the others";
  c.cause.advice =
      "Read back the divider, prescaler and routing of this output alone.";
  c.cause.settled_by = "put the source itself out on this pin";
  return c;
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
  const double make = make_ppm_of(clock);
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

// Whether two outputs of its source and more are off by other ratios, and none
// by its own.
bool stands_alone(const ClockEvidence& evidence) {
  std::size_t others = 0;
  for (const OtherClock& o : evidence.others) {
    if (!o.same_source) continue;
    if (o.agrees) return false;
    ++others;
  }
  return others >= 2;
}

// What is not a ratio, as far as the capture gives reason to name it.
void append_open(const ClockSpec& clock, const ClockEvidence& evidence,
                 const MeasuredError& error,
                 std::vector<Candidate>& candidates) {
  const double f = clock.expect.frequency_hz.to_double();
  if (make_ppm_of(clock) > kNoCrystalPpm) {
    candidates.push_back(source_off(clock, error, f));
  } else if (std::abs(error.ppm) < kLoadBoundPpm) {
    candidates.push_back(crystal_off(clock, error, f));
    if (outputs_of_source_disagree(evidence)) {
      candidates.back().cause.advice =
          "Outputs of this source are off by different ratios: find the fault "
          "behind the point where they part first. No capacitor mends that; "
          "change none before all of them show the same ppm.";
    }
  }
  candidates.push_back(timebase_off(evidence, error, f));
  if (has_multiplier(clock.expect)) {
    candidates.push_back(not_locked(error, f));
  }
  if (evidence.spread || error.ppm < -kLeastSpreadPpm) {
    candidates.push_back(spread_spectrum(clock, evidence, error, f));
  }
  // One that is right and off alike is so by a wider tolerance.
  const bool is_left_alone = std::any_of(
      evidence.others.begin(), evidence.others.end(), [](const OtherClock& o) {
        return o.same_source && o.is_right && !o.agrees;
      });
  if (is_left_alone || stands_alone(evidence)) {
    candidates.push_back(output_alone(error, f));
  }
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

void weigh(const ClockEvidence& evidence, std::vector<Candidate>& candidates) {
  for (Candidate& c : candidates) {
    CauseEvidence weighed = weigh_evidence(c.facts, evidence);
    c.weight *= weighed.factor;
    c.is_usual_load = c.is_usual_load && weighed.factor >= 1.0;
    for (std::string& sentence : weighed.sentences) {
      c.cause.evidence.push_back(std::move(sentence));
    }
  }
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

std::optional<Cause> spread_beyond(const ClockSpec& clock,
                                   const ClockEvidence& evidence,
                                   const MeasuredError& error) {
  if (!evidence.spread) return std::nullopt;
  const ToleranceBand& make = clock.tolerance.make;
  const double half = 0.5 * evidence.spread->depth.value();
  if (error.ppm - half >= make.low_ppm.to_double() &&
      error.ppm + half <= make.high_ppm.to_double()) {
    return std::nullopt;
  }
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
