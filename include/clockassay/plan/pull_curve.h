// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <vector>

#include "clockassay/base/units.h"
#include "clockassay/plan/load_plan.h"

namespace clockassay {

/// What one load does to the crystal of a plan, against the load it is made
/// for.
struct PullPoint {
  Farads load;
  Ppm pull;  ///< of the middle crystal
  Ppm low;   ///< over all of the range of C0 and C1
  Ppm high;
};

/// The pull over the loads that the plan speaks of, with some room: from the
/// least of what is asked for, chosen and fitted to the greatest, each with
/// what it is uncertain by.
/// Out:    by load, evenly apart
std::vector<PullPoint> pull_curve(const LoadPlan& plan);

}  // namespace clockassay
