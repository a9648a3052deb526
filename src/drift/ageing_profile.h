// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <span>
#include <vector>

#include "clockassay/drift/ageing.h"
#include "drift/least_squares.h"

namespace clockassay {

/// A linear problem to which an ageing term is added.
struct AgeingProblem {
  Columns base;
  std::vector<Real> response;
  std::vector<Real> variance;
  std::vector<double> time_s;
  bool scale_known = false;  ///< variances are stated, not to be estimated
};

/// The base fitted without ageing and with it, over all rates.
/// Out:  absent where nothing is left over to judge by
std::optional<Ageing> profile_ageing(const AgeingProblem& problem);

}  // namespace clockassay
