// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <vector>

#include "clockassay/estimate/feasible_set.h"

namespace clockassay {

enum class HullSide { kUpper, kLower };

/// Adds a point to a hull by monotone chain; k must increase.
/// Cost: amortised O(1), exact in 128 bits.
inline void push_hull(std::vector<FramePoint>& hull, FramePoint p,
                      HullSide side) {
  while (hull.size() >= 2) {
    const FramePoint& a = hull[hull.size() - 2];
    const FramePoint& b = hull.back();
    const Int128 turn =
        Int128(b.k - a.k) * (p.y - a.y) - Int128(b.y - a.y) * (p.k - a.k);
    const bool needed = side == HullSide::kUpper ? turn < 0 : turn > 0;
    if (needed) break;
    hull.pop_back();
  }
  hull.push_back(p);
}

}  // namespace clockassay
