// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/running_sum.h"

namespace clockassay {

void for_each_residual(const EdgeView& view, const EdgeSums& sums,
                       const LineFit& line,
                       const std::function<void(std::int64_t, double)>& visit) {
  BlockEdges block;
  const auto visit_edge = [&](const EdgeArray& edges, std::size_t i,
                              double intercept) {
    const std::int64_t k = sums.frame.k(block.first_cycle, edges.cycle[i]);
    const std::int64_t y = sums.frame.y(block.first_cycle, block.first_tick,
                                        edges.cycle[i], edges.tick[i]);
    visit(k, static_cast<double>(y) - line.slope * static_cast<double>(k) -
                 intercept);
  };
  for (std::size_t b = 0; b < view.block_count(); ++b) {
    view.read_block(b, block);
    std::size_t r = 0, f = 0;
    while (r < block.rise.count || f < block.fall.count) {
      const bool rises =
          f == block.fall.count ||
          (r < block.rise.count && block.rise.tick[r] <= block.fall.tick[f]);
      if (rises) {
        visit_edge(block.rise, r++, line.rise_intercept);
      } else {
        visit_edge(block.fall, f++, line.fall_intercept.value_or(0.0));
      }
    }
  }
}

double running_sum_square(const EdgeView& view, const EdgeSums& sums,
                          const LineFit& line) {
  if (line.dof < 1 || !(line.residual_squares > 0.0)) return 0.0;
  double at = 0.0, squares = 0.0;
  for_each_residual(view, sums, line, [&](std::int64_t, double residual) {
    at += residual;
    squares += at * at;
  });
  const auto n = static_cast<double>(sums.rise.n + sums.fall.n);
  const double variance = line.residual_squares / static_cast<double>(line.dof);
  return squares / (n * n * variance);
}

bool may_run_away(const EdgeView& view, const EdgeSums& sums,
                  const LineFit& line) {
  constexpr double kOnceInTen = 0.119;  // table 1 of the source, about a trend
  return running_sum_square(view, sums, line) > kOnceInTen;
}

}  // namespace clockassay
