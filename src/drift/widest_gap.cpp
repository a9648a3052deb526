// SPDX-License-Identifier: GPL-3.0-or-later
#include "drift/widest_gap.h"

#include <algorithm>
#include <cassert>
#include <cstddef>
#include <utility>

namespace clockassay {

Span widest_gap(std::vector<double> temperatures_c) {
  std::vector<double> at = std::move(temperatures_c);
  assert(at.size() >= 2);
  std::sort(at.begin(), at.end());
  Span widest{at[0], at[1]};
  for (std::size_t i = 2; i < at.size(); ++i) {
    const Span gap{at[i - 1], at[i]};
    if (width_of(gap) > width_of(widest)) widest = gap;
  }
  return widest;
}

Span widest_gap(std::span<const DriftPoint> points) {
  std::vector<double> at;
  for (const DriftPoint& p : points) at.push_back(p.temperature_c);
  return widest_gap(std::move(at));
}

}  // namespace clockassay
