// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <vector>

#include "clockassay/drift/assay.h"

namespace clockassay {

/// What the points of an assay, all else of it filled in, leave untold.
std::vector<std::string> drift_caveats(const DriftAssay& assay);

}  // namespace clockassay
