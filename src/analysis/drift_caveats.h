// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "clockassay/analysis/drift_result.h"

namespace clockassay {

/// What no uncertainty of a curve holds, and what else is to be said of it.
/// In:  a result with a curve
void add_drift_caveats(DriftResult& result);

}  // namespace clockassay
