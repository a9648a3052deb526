// SPDX-License-Identifier: GPL-3.0-or-later
#include "verdict/open_causes.h"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <string>
#include <utility>

#include "verdict/cause_weight.h"
#include "verdict/damage_causes.h"
#include "verdict/disagreement_causes.h"
#include "verdict/load_inference.h"
#include "verdict/wording.h"

namespace clockassay {
namespace {

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
      crystal_off_density(error, make_ppm(clock)), error, expected_hz);
  c.facts.source_ppm = make_ppm(clock);
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
      source_off_density(error, make_ppm(clock)), error, expected_hz);
  c.facts.source_ppm = make_ppm(clock);
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

// Whether another output of its source is right, or nearly, and not off alike,
// or two and more are off by other ratios, and none by its own.
bool is_left_alone(const ClockEvidence& evidence) {
  std::size_t apart = 0;
  bool is_one_near = false;
  bool is_one_alike = false;
  for (const OtherClock& o : evidence.others) {
    if (!o.same_source) continue;
    is_one_alike = is_one_alike || o.agrees;
    if (o.agrees) continue;
    ++apart;
    const bool is_near = std::abs(o.error.value()) <= kLoadBoundPpm;
    is_one_near = is_one_near || o.is_right || is_near;
  }
  return is_one_near || (apart >= 2 && !is_one_alike);
}

// A cause that has its words already.
Candidate named(Cause cause, double density, const MeasuredError& error,
                double expected_hz) {
  Candidate c = open_candidate(cause.code, usual_share(cause.code), density,
                               error, expected_hz);
  cause.expected = c.cause.expected;
  cause.residual = c.cause.residual;
  c.cause = std::move(cause);
  return c;
}

void append_source_off(const ClockSpec& clock, const MeasuredError& error,
                       std::vector<Candidate>& candidates) {
  const double f = clock.expect.frequency_hz.to_double();
  if (make_ppm(clock) > kNoCrystalPpm) {
    candidates.push_back(source_off(clock, error, f));
  } else if (std::abs(error.ppm) < kLoadBoundPpm) {
    candidates.push_back(crystal_off(clock, error, f));
  }
}

// Losses that stand out among the periods are seen by themselves.
bool may_have_lost_samples(const ClockEvidence& evidence,
                           const MeasuredError& error) {
  const bool is_rc_like =
      evidence.character && evidence.character->kind == CharacterKind::kRcLike;
  return error.ppm > 0.0 &&
         (is_rc_like || has_warning(evidence, WarningCode::kWander));
}

// The one best known of those.
const OtherClock* slightly_apart(const ClockEvidence& evidence) {
  const OtherClock* best = nullptr;
  for (const OtherClock& other : evidence.others) {
    if (!is_slightly_apart(other)) continue;
    if (best == nullptr || other.allowed < best->allowed) best = &other;
  }
  return best;
}

// What is done to the crystal moves all of its outputs.
void settle_that_first(const OtherClock& other,
                       std::vector<Candidate>& candidates) {
  if (candidates.empty()) return;
  candidates.back().cause.advice =
      "First find out why \"" + other.name +
      "\", taken for an output of the same source, is off by another ratio. "
      "What is changed at the crystal moves that as well, if it is one.";
}

// Outputs of one source that are off by different ratios without a slip
// between them: a fine divider or a loop behind the point where they part takes
// one of them there, or each has a crystal of its own.
void append_apart(const ClockSpec& clock, const OtherClock& other,
                  const MeasuredError& error,
                  std::vector<Candidate>& candidates) {
  const double f = clock.expect.frequency_hz.to_double();
  candidates.push_back(named(
      behind_the_split(other),
      anywhere_density(other.difference.value(), kLoadBoundPpm), error, f));
  candidates.push_back(named(not_one_source(other),
                             crystal_off_density(error, make_ppm(clock)), error,
                             f));
}

}  // namespace

Candidate spread_spectrum(const ClockSpec& clock, const ClockEvidence& evidence,
                          const MeasuredError& error, double expected_hz) {
  const double made_ppm = make_ppm(clock);
  const double density = evidence.spread
                             ? spread_density(*evidence.spread, error, made_ppm)
                             : anywhere_density(error.ppm, kSpreadReachPpm);
  Candidate c = open_candidate(CauseCode::kSpreadSpectrum,
                               usual_share(CauseCode::kSpreadSpectrum), density,
                               error, expected_hz);
  c.is_spread_there =
      evidence.spread &&
      spread_place(*evidence.spread, error, made_ppm) != SpreadPlace::kOther;
  c.cause.cause = "spread spectrum is switched on";
  c.cause.evidence.push_back(
      evidence.spread
          ? place_in_spread(*evidence.spread, error, made_ppm)
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

// What is not a ratio, as far as the capture gives reason to name it.
void append_open(const ClockSpec& clock, const ClockEvidence& evidence,
                 const MeasuredError& error,
                 std::vector<Candidate>& candidates) {
  const double f = clock.expect.frequency_hz.to_double();
  const OtherClock* slightly = slightly_apart(evidence);
  if (may_be_one_source(evidence)) {
    append_source_off(clock, error, candidates);
    if (slightly != nullptr) settle_that_first(*slightly, candidates);
  }
  candidates.push_back(timebase_off(evidence, error, f));
  if (may_have_lost_samples(evidence, error)) {
    candidates.push_back(named(single_samples_lost(),
                               anywhere_density(error.ppm, kLoadBoundPpm),
                               error, f));
  }
  if (has_multiplier(clock.expect)) {
    candidates.push_back(not_locked(error, f));
  }
  if (evidence.spread || error.ppm < -kLeastSpreadPpm) {
    candidates.push_back(spread_spectrum(clock, evidence, error, f));
  }
  if (slightly != nullptr) {
    append_apart(clock, *slightly, error, candidates);
  } else if (is_left_alone(evidence)) {
    candidates.push_back(output_alone(error, f));
  }
}

}  // namespace clockassay
