// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <vector>

#include "support/drift_count.h"

namespace clockassay::testing {

/// What of the counts of one part and trouble chance does not explain, if what
/// docs/drift.md claims of them is true; in words, with figures.
std::vector<std::string> broken_bounds(PartScene scene, Trouble trouble,
                                       const DriftCount& count);

/// The same over all parts, which bounds more closely; of troubles that leave
/// the scatter as it is stated also that bands are no wider than they say.
std::vector<std::string> broken_bounds_of_all(Trouble trouble,
                                              const DriftCount& sum);

}  // namespace clockassay::testing
