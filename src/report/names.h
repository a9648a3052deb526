// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "clockassay/estimate/frequency_estimate.h"

namespace clockassay {

/// "agrees", "disagrees", "not_applicable".
inline const char* spectral_outcome_name(SpectralOutcome outcome) {
  switch (outcome) {
    case SpectralOutcome::kAgrees:
      return "agrees";
    case SpectralOutcome::kDisagrees:
      return "disagrees";
    case SpectralOutcome::kNotApplicable:
      break;
  }
  return "not_applicable";
}

/// "feasible_set", "likelihood", "least_squares", "interval_only".
inline const char* method_name(EstimateMethod method) {
  switch (method) {
    case EstimateMethod::kFeasibleSet:
      return "feasible_set";
    case EstimateMethod::kLikelihood:
      return "likelihood";
    case EstimateMethod::kLeastSquares:
      return "least_squares";
    case EstimateMethod::kIntervalOnly:
      break;
  }
  return "interval_only";
}

}  // namespace clockassay
