// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "clockassay/plan/capture_plan.h"

namespace clockassay {

/// What brings U down to a quarter of the width of the limits: all of it
/// together, so that none has to be taken back when another is done.
/// In:     the plan's limits, width and U
/// Source: docs/plan.md#capture
CaptureCures find_cures(const CapturePlan& plan);

}  // namespace clockassay
