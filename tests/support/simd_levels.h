// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <vector>

#include "base/simd_level.h"

namespace clockassay::test {

/// The levels of instructions that this processor has.
inline std::vector<SimdLevel> simd_levels() {
  std::vector<SimdLevel> levels;
  for (const SimdLevel level : kSimdLevels) {
    if (level <= simd_level()) levels.push_back(level);
  }
  return levels;
}

/// Calls use() at each of them.
template <class Use>
void at_each_simd_level(const Use& use) {
  const SimdLevel best = simd_level();
  for (const SimdLevel level : simd_levels()) {
    limit_simd_level(level);
    use();
    limit_simd_level(best);
  }
}

}  // namespace clockassay::test
