// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/estimate/residual_pass.h"

#include <algorithm>
#include <limits>

namespace clockassay {
namespace {

struct BlockPart {
  double lowest = std::numeric_limits<double>::infinity();
  double highest = -std::numeric_limits<double>::infinity();
  std::vector<std::pair<std::size_t, LineSums>> parts;  // by part number
};

BlockPart pass_block(const EdgeView& view, std::size_t index,
                     const EdgeSums& sums, double slope,
                     std::size_t part_count) {
  BlockEdges edges;
  view.read_block(index, edges);
  BlockPart block;
  const Int128 span = Int128(sums.last_cycle) - sums.first_cycle + 1;
  for (std::size_t i = 0; i < edges.rise.count; ++i) {
    const std::int64_t k = sums.frame.k(edges.first_cycle, edges.rise.cycle[i]);
    const std::int64_t y =
        sums.frame.y(edges.first_cycle, edges.first_tick, edges.rise.cycle[i],
                     edges.rise.tick[i]);
    const double residual =
        static_cast<double>(y) - slope * static_cast<double>(k);
    block.lowest = std::min(block.lowest, residual);
    block.highest = std::max(block.highest, residual);
    const auto part =
        static_cast<std::size_t>((Int128(k) - sums.first_cycle) *
                                 static_cast<Int128>(part_count) / span);
    if (block.parts.empty() || block.parts.back().first != part) {
      block.parts.emplace_back(part, LineSums{});
    }
    block.parts.back().second.add(k, y);
  }
  return block;
}

}  // namespace

ResidualPass pass_residuals(const EdgeView& view, const EdgeSums& sums,
                            double slope, std::size_t part_count,
                            const ParallelFor& parallel_for) {
  std::vector<BlockPart> blocks(view.block_count());
  parallel_for(blocks.size(), [&](std::size_t i) {
    blocks[i] = pass_block(view, i, sums, slope, part_count);
  });
  ResidualPass pass;
  pass.lowest = std::numeric_limits<double>::infinity();
  pass.highest = -std::numeric_limits<double>::infinity();
  pass.parts.resize(part_count);
  for (const BlockPart& block : blocks) {
    pass.lowest = std::min(pass.lowest, block.lowest);
    pass.highest = std::max(pass.highest, block.highest);
    for (const auto& [part, part_sums] : block.parts) {
      pass.parts[part].add_shifted(part_sums, 0, 0);
    }
  }
  return pass;
}

}  // namespace clockassay
