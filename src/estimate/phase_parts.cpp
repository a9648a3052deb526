// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/phase_parts.h"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <vector>

#include "estimate/packed_sums.h"

namespace clockassay {
namespace {

/// Chosen: the line of so few edges has its scatter within a quarter.
constexpr std::int64_t kFewestCycles = 16;
/// Parts grow by one of so many in each step away from an end. Chosen.
constexpr std::int64_t kGrowth = 8;
/// A part is at most one of so many. Chosen: the change itself takes one away.
constexpr std::int64_t kMostOf = 64;
/// Below this many edges a part says nothing about its own scatter.
constexpr std::int64_t kFewestEdges = 4;

/// First cycles of all parts, and the end of the last.
std::vector<std::int64_t> grid(std::int64_t first, std::int64_t last) {
  const std::int64_t cycles = last - first + 1;
  const std::int64_t most = std::max(kFewestCycles, cycles / kMostOf);
  std::vector<std::int64_t> begin{0};
  while (begin.back() < cycles / 2) {
    const std::int64_t at = begin.back();
    begin.push_back(at + std::clamp(at / kGrowth, kFewestCycles, most));
  }
  // The same from the other end; the one in the middle takes what is left.
  std::vector<std::int64_t> all;
  for (const std::int64_t b : begin) {
    if (2 * b < cycles) all.push_back(first + b);
  }
  const std::size_t half = all.size();
  for (std::size_t i = half; i-- > 0;) {
    const std::int64_t mirrored = first + cycles - begin[i];
    if (i == 0 || mirrored - all[half - 1] >= kFewestCycles) {
      all.push_back(mirrored);
    }
  }
  return all;
}

BlockParts pass_block(const EdgeView& view, std::size_t index,
                      const EdgeFrame& frame,
                      const std::vector<std::int64_t>& begins) {
  const std::int64_t limit = largest_residual(begins.back() - begins.front());
  const auto part_of = [&](std::int64_t k) {
    const auto next = std::upper_bound(begins.begin(), begins.end(), k);
    return static_cast<std::size_t>(next - begins.begin() - 1);
  };
  return sum_block_parts(view, index, frame, part_of, limit);
}

/// Mean and line of a part. Sums are taken about whole numbers near the means
/// before anything is rounded.
PhasePart describe(const LineSums& sums) {
  const auto n = static_cast<double>(sums.n);
  const auto k0 = static_cast<std::int64_t>(sums.k / sums.n);
  const auto y0 = static_cast<std::int64_t>(sums.y / sums.n);
  LineSums near;
  near.add_shifted(sums, -k0, -y0);
  const double k = static_cast<double>(near.k) / n,
               y = static_cast<double>(near.y) / n;
  const double kk = static_cast<double>(near.kk) - n * k * k;
  const double ky = static_cast<double>(near.ky) - n * k * y;
  const double yy = static_cast<double>(near.yy) - n * y * y;
  PhasePart part;
  part.n = n;
  part.k = static_cast<double>(k0) + k;
  part.y = static_cast<double>(y0) + y;
  part.kk = kk;
  part.slope = ky / kk;
  part.variance = std::max(0.0, yy - part.slope * ky) / (n - 2.0);
  return part;
}

}  // namespace

PhaseParts make_phase_parts(const EdgeView& view,
                            const ParallelFor& parallel_for) {
  PhaseParts out;
  out.frame = frame_of(view);
  const auto ends = rising_ends(view);
  assert(ends);
  const std::int64_t centre = out.frame.centre.count();
  const std::vector<std::int64_t> begins =
      grid(ends->first.cycle - centre, ends->second.cycle - centre);
  std::vector<BlockParts> blocks(view.block_count());
  parallel_for(blocks.size(), [&](std::size_t i) {
    blocks[i] = pass_block(view, i, out.frame, begins);
  });
  std::vector<LineSums> sums(begins.size() - 1);
  for (const BlockParts& block : blocks) {
    out.blocks.push_back({block.first, block.last});
    for (const PartSums& part : block.parts) {
      if (part.too_far) return out;
      sums[part.part].add_shifted(part.sums, 0, 0);
    }
  }
  for (std::size_t i = 0; i < sums.size(); ++i) {
    if (sums[i].n < kFewestEdges) continue;
    out.parts.push_back(describe(sums[i]));
    out.parts.back().first_cycle = begins[i];
    out.parts.back().last_cycle = begins[i + 1] - 1;
  }
  return out;
}

}  // namespace clockassay
