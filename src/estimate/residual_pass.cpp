// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/estimate/residual_pass.h"

#include <algorithm>
#include <limits>
#include <vector>

#include "estimate/packed_sums.h"

namespace clockassay {
namespace {

/// Which of the equal parts of a view a cycle belongs to.
class PartOf {
 public:
  PartOf(const EdgeSums& sums, std::size_t count)
      : first_(sums.first_cycle),
        span_(Int128(sums.last_cycle) - sums.first_cycle + 1),
        count_(static_cast<Int128>(count)) {}
  std::size_t operator()(std::int64_t k) const {
    return static_cast<std::size_t>((Int128(k) - first_) * count_ / span_);
  }

 private:
  Int128 first_, span_, count_;
};

}  // namespace

std::vector<LineSums> sum_equal_parts(const EdgeView& view,
                                      const EdgeSums& sums,
                                      std::size_t part_count,
                                      const ParallelFor& parallel_for) {
  const PartOf part_of(sums, part_count);
  std::vector<std::vector<PartSums>> blocks(view.block_count());
  parallel_for(blocks.size(), [&](std::size_t i) {
    blocks[i] =
        sum_block_parts(view, i, sums.frame, part_of, kMostResidual).parts;
  });
  std::vector<LineSums> parts(part_count);
  for (const auto& block : blocks) {
    for (const PartSums& part : block) {
      parts[part.part].add_shifted(part.sums, 0, 0);
    }
  }
  return parts;
}

ResidualPass pass_residuals(const EdgeView& view, const EdgeSums& sums,
                            const ViewExtremes& extremes,
                            std::size_t part_count,
                            const ParallelFor& parallel_for) {
  ResidualPass pass;
  pass.lowest = std::numeric_limits<double>::infinity();
  pass.highest = -std::numeric_limits<double>::infinity();
  for (const BlockExtremes& block : extremes.blocks) {
    if (!block.rise.any) continue;
    pass.lowest = std::min(pass.lowest, block.rise.bottom);
    pass.highest = std::max(pass.highest, block.rise.top);
  }
  pass.parts = sum_equal_parts(view, sums, part_count, parallel_for);
  return pass;
}

}  // namespace clockassay
