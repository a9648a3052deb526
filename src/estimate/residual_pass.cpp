// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/estimate/residual_pass.h"

#include <algorithm>
#include <limits>
#include <vector>

#include "estimate/frame_block.h"
#include "estimate/part_sums.h"
#include "estimate/steady_sums.h"

namespace clockassay {
namespace {

struct BlockPart {
  OffsetRange range{std::numeric_limits<double>::infinity(),
                    -std::numeric_limits<double>::infinity()};
  std::vector<PartSums> parts;
};

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

BlockPart pass_block(const EdgeView& view, std::size_t index,
                     const EdgeSums& sums, double slope,
                     const PartOf& part_of) {
  FrameBlock frame_block;
  frame_block.read(view, index, sums.frame);
  BlockPart block;
  frame_block.visit([&](const auto& rise, const auto&) {
    if (rise.count() == 0) return;
    block.range = range_along(rise, slope);
    block.parts = sum_parts(rise, part_of, kMostResidual);
  });
  return block;
}

}  // namespace

ResidualPass pass_residuals(const EdgeView& view, const EdgeSums& sums,
                            double slope, std::size_t part_count,
                            const ParallelFor& parallel_for) {
  const PartOf part_of(sums, part_count);
  std::vector<BlockPart> blocks(view.block_count());
  parallel_for(blocks.size(), [&](std::size_t i) {
    blocks[i] = pass_block(view, i, sums, slope, part_of);
  });
  ResidualPass pass;
  pass.lowest = std::numeric_limits<double>::infinity();
  pass.highest = -std::numeric_limits<double>::infinity();
  pass.parts.resize(part_count);
  for (const BlockPart& block : blocks) {
    pass.lowest = std::min(pass.lowest, block.range.low);
    pass.highest = std::max(pass.highest, block.range.high);
    for (const PartSums& part : block.parts) {
      pass.parts[part.part].add_shifted(part.sums, 0, 0);
    }
  }
  return pass;
}

}  // namespace clockassay
