// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "clockassay/analysis/drift_result.h"

namespace clockassay {

/// What no uncertainty of a curve holds, and what else is to be said of it.
/// In:  a result with a curve
void add_drift_caveats(DriftResult& result);

/// Whether the temperatures look like degrees Fahrenheit: hotter than any part
/// is specified for, and than the range that is asked for.
bool unit_in_question(const DriftResult& result);

}  // namespace clockassay
