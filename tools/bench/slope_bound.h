// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "support/test_stretch.h"

namespace clockassay {

/// What is true of sampled edges: rising edge k at phase + k period.
struct TrueClock {
  double period = 0.0;  ///< samples
  double phase = 0.0;
  double duty = 0.0;
  double sigma = 0.0;  ///< rms jitter of an edge, samples
};

/// The least variance of any estimate of the period [samples²]: no estimate is
/// better on average over phases and periods. Where the edges are worth a
/// hundred exact ones or more and tell the jitter: Cramer and Rao's bound with
/// the windows' expected Fisher information, the jitter not being known. Else
/// it does not hold: variance of the period over all lines, each as likely as
/// the edges are with it (Bayes, flat in both intercepts and the slope, the
/// jitter known, so that it is lower than need be), by quadrature; not a number
/// where that would take too long, above 2000 cycles.
double slope_bound(const SampledEdges& edges, const TrueClock& truth);

}  // namespace clockassay
