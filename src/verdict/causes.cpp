// SPDX-License-Identifier: GPL-3.0-or-later
#include "verdict/causes.h"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <limits>
#include <tuple>
#include <utility>

#include "verdict/hypotheses.h"
#include "verdict/wording.h"

namespace clockassay {
namespace {

// A window this many times wider catches a frequency by chance that often; it
// explains less. Chosen: the usual odds of one in ten.
constexpr double kCoincidence = 10.0;

// The load alone keeps a crystal between its series and its parallel
// resonance, C1 / (2 C0) apart: 2000 to 2800 ppm for C0/C1 of 250 to 180,
// usual for AT cuts.
constexpr double kLoadBoundPpm = 3000.0;

// What missing or wrong load capacitors usually do. Calculated with the load
// equation: a crystal of C1 = 8 fF, C0 = 3 pF for 18 pF with both capacitors
// missing (2.5 pF left) runs 537 ppm fast. Beyond, it takes a second slip.
constexpr double kUsualLoadPpm = 600.0;

// How far a crystal usually is off, for judging coincidences. Common practice,
// no source.
constexpr double kUsualOffsetPpm = 100.0;

// Beyond this many, a list of double slips helps nobody. Chosen.
constexpr std::size_t kMostDoubleSlips = 3;

struct Candidate {
  Cause cause;
  int slips = 1;
  bool from_suspect = false;
  bool from_path = true;    // an exact hypothesis, not the crystal's offset
  double window_ppm = 0.0;  // U and tolerance, half-width
  double residual_windows = 0.0;
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

Candidate candidate_of(const Hypothesis& h, const Residual& r,
                       double measured_hz, double source_hz) {
  Candidate c;
  c.slips = h.slips;
  c.from_suspect = h.from_suspect;
  c.window_ppm = r.allowed_ppm;
  c.residual_windows = std::abs(r.ppm) / r.allowed_ppm;
  c.cause.code = h.code;
  c.cause.cause = h.cause;
  c.cause.ratio = h.ratio.to_string();
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
  c.cause.advice = h.advice;
  c.cause.settled_by = h.settled_by;
  return c;
}

// Load capacitors or the crystal itself: any offset physics allows.
Candidate crystal_off(const MeasuredError& error, double expected_hz) {
  const bool fast = error.ppm > 0.0;
  Candidate c;
  c.slips = std::abs(error.ppm) <= kUsualLoadPpm ? 1 : 2;
  c.from_path = false;
  c.window_ppm = error.expanded_ppm + kUsualOffsetPpm;
  c.residual_windows = std::abs(error.ppm) / c.window_ppm;
  c.cause.code = CauseCode::kCrystalOff;
  c.cause.cause =
      fast ? "the crystal runs fast: load capacitors too small, or the part "
             "itself is off"
           : "the crystal runs slow: load capacitors too large, or the part "
             "itself is off";
  c.cause.expected = Hertz(expected_hz);
  c.cause.residual = Ppm(error.ppm);
  c.cause.evidence.push_back(
      "The pin is " + above_or_below(error.ppm, error.expanded_ppm) + " " +
      hertz_text(expected_hz) + ". The load can move a crystal by up to " +
      number_text(kLoadBoundPpm, 4) + " ppm and usually does by less than " +
      number_text(kUsualLoadPpm, 4) +
      " ppm: more load is slower, less load is faster.");
  c.cause.advice =
      "Compare the load the crystal sees (both capacitors in series, plus "
      "stray) with the load its data sheet asks for; fit " +
      std::string(fast ? "larger" : "smaller") +
      " capacitors if it differs. Before soldering: power off, every supply "
      "unplugged, ESD strap, and somebody qualified for it. Let the part rest "
      "for hours before judging single ppm.";
  c.cause.settled_by =
      "measure every output of this crystal: all must show the same ppm; and "
      "repeat with a timebase checked against a known clock. Do not probe the "
      "crystal pins, a probe is load too";
  return c;
}

Candidate aliased(const AliasCandidate& alias, Hertz measured) {
  Candidate c;
  c.slips = alias.is_expected ? 1 : 2;
  c.window_ppm = alias.allowed_ppm;
  c.residual_windows = std::abs(alias.residual_ppm) / alias.allowed_ppm;
  c.cause = alias_cause(alias, measured);
  return c;
}

// Whether `a` is the better explanation, not just the first in the list.
bool outranks(const Candidate& a, const Candidate& b) {
  if (a.slips != b.slips) return a.slips < b.slips;
  return a.window_ppm * kCoincidence < b.window_ppm;
}

// Sorts into ranks: each rank holds what the narrowest window left cannot
// outrank.
void rank_candidates(std::vector<Candidate>& candidates) {
  std::stable_sort(candidates.begin(), candidates.end(),
                   [](const Candidate& a, const Candidate& b) {
                     return std::pair(a.slips, a.window_ppm) <
                            std::pair(b.slips, b.window_ppm);
                   });
  int rank = 0;
  const Candidate* leader = nullptr;
  for (Candidate& c : candidates) {
    if (leader == nullptr || outranks(*leader, c)) {
      leader = &c;
      ++rank;
    }
    c.cause.rank = rank;
  }
  std::stable_sort(
      candidates.begin(), candidates.end(),
      [](const Candidate& a, const Candidate& b) {
        return std::tuple(a.cause.rank, !a.from_suspect, a.residual_windows) <
               std::tuple(b.cause.rank, !b.from_suspect, b.residual_windows);
      });
}

// Says in each cause of a rank which others fit as well.
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

std::string nearest_sentence(const Hypothesis& h, const Residual& r) {
  return "Nothing known explains it. The nearest is \"" + h.cause + "\" with " +
         hertz_text(h.frequency_hz.to_double()) + ", but the pin is " +
         above_or_below(r.ppm, r.U_ppm) + " that, where at most " +
         offset_text(r.allowed_ppm, r.U_ppm) + " would fit.";
}

// Candidates in order of rank.
void keep_few_double_slips(std::vector<Candidate>& candidates) {
  double narrowest = std::numeric_limits<double>::infinity();
  for (const Candidate& c : candidates) {
    narrowest = std::min(narrowest, c.window_ppm);
  }
  std::size_t doubles = 0;
  std::erase_if(candidates, [&](const Candidate& c) {
    if (c.slips == 1 || !c.from_path) return false;
    return c.window_ppm > kCoincidence * narrowest ||
           ++doubles > kMostDoubleSlips;
  });
}

}  // namespace

Diagnosis diagnose(const ClockSpec& clock, const std::vector<Suspect>& suspects,
                   Hertz measured, const MeasuredError& error,
                   const std::vector<AliasCandidate>& aliases) {
  const double f = measured.value();
  const double expected_hz = clock.expect.frequency_hz.to_double();
  const double U_hz = error.expanded_ppm * 1e-6 * expected_hz;
  const double source_hz = f * clock.expect.source_over_frequency.to_double();
  Diagnosis diagnosis;
  std::vector<Candidate> candidates;
  double nearest = std::numeric_limits<double>::infinity();
  for (const Hypothesis& h : make_hypotheses(clock, suspects)) {
    const Residual r = residual_of(h, f, U_hz);
    if (std::abs(r.ppm) <= r.allowed_ppm) {
      candidates.push_back(candidate_of(h, r, f, source_hz));
    } else if (h.slips == 1 && std::abs(r.ppm) < nearest) {
      nearest = std::abs(r.ppm);
      diagnosis.nearest = nearest_sentence(h, r);
    }
  }
  if (std::abs(error.ppm) < kLoadBoundPpm) {
    candidates.push_back(crystal_off(error, expected_hz));
  }
  for (const AliasCandidate& alias : aliases) {
    candidates.push_back(aliased(alias, measured));
  }
  if (candidates.empty()) {
    if (diagnosis.nearest.empty()) {
      diagnosis.nearest = "Nothing known explains it.";
    }
    return diagnosis;
  }
  diagnosis.nearest.clear();
  rank_candidates(candidates);
  keep_few_double_slips(candidates);
  for (Candidate& c : candidates) {
    diagnosis.causes.push_back(std::move(c.cause));
  }
  say_ambiguous(diagnosis.causes);
  return diagnosis;
}

}  // namespace clockassay
