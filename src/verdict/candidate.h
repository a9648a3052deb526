// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "clockassay/verdict/verdict.h"
#include "verdict/cause_evidence.h"
#include "verdict/checks.h"
#include "verdict/hypotheses.h"

namespace clockassay {

/// A cause that is weighed against others.
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

/// How far the measured frequency is from that of a hypothesis.
struct Residual {
  double ppm = 0.0;
  double U_ppm = 0.0;        // of the hypothesis' frequency
  double allowed_ppm = 0.0;  // tolerance on the side of the residual, and U
};

/// In:     relative_U_hz  U of the measured frequency
Residual residual_of(const Hypothesis& h, double measured_hz,
                     double relative_U_hz);

/// Of a hypothesis with a figure, before the rest of the capture is held
/// against it: how often its kind happens times the density in its window.
/// In:     source_hz  what the intended path makes of the measured frequency
Candidate candidate_of(const Hypothesis& h, const Residual& r,
                       double measured_hz, double source_hz);

/// Of a cause without a figure: `share` of all that happens, `density` at the
/// measured frequency, per ppm. Its words are the caller's.
Candidate open_candidate(CauseCode code, double share, double density,
                         const MeasuredError& error, double expected_hz);

/// Holds the rest of the capture against each (weigh_evidence()).
void weigh(const ClockEvidence& evidence, std::vector<Candidate>& candidates);

}  // namespace clockassay
