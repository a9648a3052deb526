// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <vector>

#include "clockassay/drift/assay.h"
#include "clockassay/drift/range_verdict.h"

namespace clockassay {

/// One more temperature, and what it does for the worst case.
struct NextTemperature {
  double temperature_c = 0.0;
  double expanded_before_ppm = 0.0;  ///< of the band at the worst case
  double expanded_after_ppm = 0.0;   ///< if the new point falls on the curve
};

/// The temperatures in the range at which one more point, as good as the median
/// one, would lower the uncertainty of the worst case most: tried at 65 of
/// them. What is judged of the scatter stays as it is: a point that is not
/// there yet says nothing of it.
/// Out:    the best first, up to three, an eighth of the range apart; none
///         where no point lowers it
/// Source: docs/drift.md#the-next-temperature
std::vector<NextTemperature> next_temperatures(const DriftAssay& assay,
                                               const RangeLimits& limits);

}  // namespace clockassay
