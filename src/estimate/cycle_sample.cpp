// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/cycle_sample.h"

#include <algorithm>

namespace clockassay {

CycleSample::CycleSample(std::int64_t first, std::int64_t last,
                         std::int64_t most)
    : first_(first),
      step_(static_cast<std::size_t>(
          std::max<std::int64_t>(1, (last - first + most) / most))) {}

bool CycleSample::may_meet(const EdgeView& view, std::size_t block,
                           const EdgeFrame& frame) const {
  if (has_all()) return true;
  const auto whole = view.whole_block(block);
  if (!whole) return true;
  const std::int64_t k = frame.k(whole->first_cycle, 0);
  const std::size_t last = run_of(k + whole->cycles->count - 1);
  for (std::size_t run = run_of(k); run <= last; ++run) {
    if (takes(run)) return true;
  }
  return false;
}

}  // namespace clockassay
