// SPDX-License-Identifier: GPL-3.0-or-later
// Hulls of all edges, plainly, and of those that can matter near a slope.
#include <algorithm>
#include <cassert>
#include <cmath>
#include <limits>

#include "clockassay/estimate/feasible_set.h"
#include "estimate/frame_block.h"
#include "estimate/hull_chain.h"
#include "estimate/steady_sums.h"

namespace clockassay {
namespace {

/// Up to this many blocks the plain chain is as fast. Chosen.
constexpr std::size_t kPlainBlocks = 4;

template <class Edges>
FramePoint point(const Edges& edges, std::size_t i) {
  return {edges.k(i), edges.y(i)};
}

template <class Edges>
void push_all(PointHulls& hulls, const Edges& edges) {
  for (std::size_t i = 0; i < edges.count(); ++i) {
    push_hull(hulls.upper, point(edges, i), HullSide::kUpper);
    push_hull(hulls.lower, point(edges, i), HullSide::kLower);
  }
}

/// Height of the upper hull of block maxima whose slopes stay within +-reach,
/// as a function of k; used with the sign turned for the lower one.
class ReachableHull {
 public:
  ReachableHull(const std::vector<double>& k, const std::vector<double>& y,
                double slope)
      : slope_(slope) {
    for (std::size_t i = 0; i < k.size(); ++i) {
      while (hull_.size() >= 2) {
        const Point &a = hull_[hull_.size() - 2], &b = hull_.back();
        if ((b.k - a.k) * (y[i] - a.y) - (b.y - a.y) * (k[i] - a.k) < 0.0) {
          break;
        }
        hull_.pop_back();
      }
      hull_.push_back({k[i], y[i]});
    }
    std::size_t first = 0, last = hull_.size() - 1;
    while (first < last && rise(first) > slope * run(first)) ++first;
    while (last > first && rise(last - 1) < -slope * run(last - 1)) --last;
    hull_ = {hull_.begin() + static_cast<std::ptrdiff_t>(first),
             hull_.begin() + static_cast<std::ptrdiff_t>(last) + 1};
  }

  double at(double k) const {
    if (k <= hull_.front().k) {
      return hull_.front().y - slope_ * (hull_.front().k - k);
    }
    if (k >= hull_.back().k) {
      return hull_.back().y - slope_ * (k - hull_.back().k);
    }
    const auto right = std::upper_bound(
        hull_.begin(), hull_.end(), k,
        [](double value, const Point& p) { return value < p.k; });
    const auto left = right - 1;
    return left->y +
           (right->y - left->y) * (k - left->k) / (right->k - left->k);
  }

 private:
  struct Point {
    double k, y;
  };
  double rise(std::size_t i) const { return hull_[i + 1].y - hull_[i].y; }
  double run(std::size_t i) const { return hull_[i + 1].k - hull_[i].k; }

  double slope_;
  std::vector<Point> hull_;
};

/// What one side of one polarity needs of a block: edges whose residual is at
/// least `threshold` (with the sign of the side).
struct Selection {
  bool wanted = false;
  double threshold = 0.0;
};

std::vector<Selection> select(const std::vector<BlockExtremes>& blocks,
                              bool rising, HullSide side, double slope,
                              double rounding) {
  const double sign = side == HullSide::kUpper ? 1.0 : -1.0;
  const auto part = [&](std::size_t i) -> const LineExtremes& {
    return rising ? blocks[i].rise : blocks[i].fall;
  };
  const auto height = [&](const LineExtremes& e) {
    return side == HullSide::kUpper ? e.top : -e.bottom;
  };
  std::vector<double> k, y;
  double extent = 0.0;
  for (std::size_t i = 0; i < blocks.size(); ++i) {
    if (!part(i).any) continue;
    k.push_back(part(i).middle);
    y.push_back(height(part(i)));
    extent = std::max(extent, 2.0 * part(i).reach);
  }
  std::vector<Selection> selected(blocks.size());
  if (k.empty()) return selected;
  const ReachableHull hull(k, y, slope);
  const double slack = slope * extent + 2.0 * rounding;
  for (std::size_t i = 0; i < blocks.size(); ++i) {
    const LineExtremes& e = part(i);
    if (!e.any || height(e) + slack < hull.at(e.middle)) continue;
    selected[i] = {true, sign * (height(e) - slack)};
  }
  return selected;
}

/// Edges that stand out beyond a threshold, of either kind.
void select_beyond(const SteadyEdges& edges, double near, HullSide side,
                   double threshold, std::vector<std::uint32_t>& selected) {
  const double base = along(edges.k0, edges.y0, near);
  offsets_beyond(edges.offset, near, side == HullSide::kUpper, threshold - base,
                 selected);
}

void select_beyond(const AnyEdges& edges, double near, HullSide side,
                   double threshold, std::vector<std::uint32_t>& selected) {
  for (std::size_t i = 0; i < edges.count(); ++i) {
    const double r = along(edges.k(i), edges.y(i), near);
    const bool high =
        side == HullSide::kUpper ? r >= threshold : r <= threshold;
    if (high) selected.push_back(static_cast<std::uint32_t>(i));
  }
}

/// Hull of the selected edges of one block.
template <class Edges>
std::vector<FramePoint> collect(const Edges& edges, double near,
                                const Selection& selection, HullSide side) {
  std::vector<FramePoint> hull;
  if (!selection.wanted) return hull;
  std::vector<std::uint32_t> selected;
  select_beyond(edges, near, side, selection.threshold, selected);
  for (const std::uint32_t i : selected) push_hull(hull, point(edges, i), side);
  return hull;
}

/// The four hulls' candidates, rise upper, rise lower, fall upper, fall lower.
struct FourSelections {
  std::vector<Selection> side[4];
};

EdgeHulls collect_hulls(const EdgeView& view, const EdgeFrame& frame,
                        double near, const FourSelections& selections,
                        const ParallelFor& parallel_for) {
  struct BlockHulls {
    std::vector<FramePoint> side[4];
  };
  std::vector<BlockHulls> parts(view.block_count());
  parallel_for(parts.size(), [&](std::size_t i) {
    const auto& s = selections.side;
    if (!s[0][i].wanted && !s[1][i].wanted && !s[2][i].wanted &&
        !s[3][i].wanted) {
      return;
    }
    FrameBlock block;
    block.read(view, i, frame);
    block.visit([&](const auto& rise, const auto& fall) {
      for (std::size_t j = 0; j < 4; ++j) {
        parts[i].side[j] =
            collect(j < 2 ? rise : fall, near, s[j][i],
                    j % 2 == 0 ? HullSide::kUpper : HullSide::kLower);
      }
    });
  });
  EdgeHulls hulls;
  std::vector<FramePoint>* into[4] = {&hulls.rise.upper, &hulls.rise.lower,
                                      &hulls.fall.upper, &hulls.fall.lower};
  for (const BlockHulls& part : parts) {
    for (std::size_t j = 0; j < 4; ++j) {
      for (const FramePoint& p : part.side[j]) {
        push_hull(*into[j], p,
                  j % 2 == 0 ? HullSide::kUpper : HullSide::kLower);
      }
    }
  }
  return hulls;
}

/// One polarity of the blocks of a view, as the range of its residuals along
/// near + s goes: convex in s on either side of 0.
class RangeBound {
 public:
  RangeBound(const std::vector<BlockExtremes>& blocks, bool rising) {
    for (const BlockExtremes& b : blocks) {
      const LineExtremes& e = rising ? b.rise : b.fall;
      if (e.any) parts_.push_back(&e);
    }
  }

  /// No slope further from `near` has a range within `window` of the smallest.
  /// The smallest is not above that along `near`.
  double furthest_slope(double window) const {
    constexpr int kHalvings = 6;  // chosen: to a fiftieth of the first bound
    if (!(span() > 0.0)) return 0.0;
    const double along_near = least(0.0);
    // R(s) >= |y_last - y_first - s * span|.
    const double bound = (2.0 * along_near + window) / span();
    double furthest = 0.0;
    for (const double side : {-1.0, 1.0}) {
      double within = 0.0, beyond = bound;
      for (int i = 0; i < kHalvings; ++i) {
        const double s = 0.5 * (within + beyond);
        (least(side * s) < along_near + window ? within : beyond) = s;
      }
      furthest = std::max(furthest, beyond);
    }
    return furthest;
  }

 private:
  /// The range along near + s is at least this: wherever in its block the edge
  /// at the top or bottom is.
  double least(double s) const {
    double top = -std::numeric_limits<double>::infinity();
    double bottom = std::numeric_limits<double>::infinity();
    for (const LineExtremes* e : parts_) {
      const double moved = s * e->middle;
      const double open = std::abs(s) * e->reach;
      top = std::max(top, e->top - moved - open);
      bottom = std::min(bottom, e->bottom - moved + open);
    }
    return top - bottom;
  }
  double span() const {
    if (parts_.empty()) return 0.0;
    return parts_.back()->middle + parts_.back()->reach -
           (parts_.front()->middle - parts_.front()->reach);
  }

  std::vector<const LineExtremes*> parts_;
};

}  // namespace

EdgeHulls all_hulls(const EdgeView& view, const EdgeFrame& frame) {
  EdgeHulls hulls;
  FrameBlock block;
  for (std::size_t i = 0; i < view.block_count(); ++i) {
    block.read(view, i, frame);
    block.visit([&](const auto& rise, const auto& fall) {
      push_all(hulls.rise, rise);
      push_all(hulls.fall, fall);
    });
  }
  return hulls;
}

FeasibleSet find_feasible_set(const EdgeView& view, const EdgeFrame& frame,
                              const ViewExtremes& extremes,
                              std::int64_t window_units,
                              const ParallelFor& parallel_for) {
  if (view.block_count() <= kPlainBlocks) {
    return feasible_set_from(all_hulls(view, frame), window_units);
  }
  const double near = extremes.slope;
  const double window = static_cast<double>(window_units) / kWindowUnits;
  double slope = 0.0;
  for (bool rising : {true, false}) {
    slope = std::max(
        slope, RangeBound(extremes.blocks, rising).furthest_slope(window));
  }
  slope = slope * 1.001 + std::numeric_limits<double>::min();
  FourSelections selections;
  for (std::size_t j = 0; j < 4; ++j) {
    selections.side[j] =
        select(extremes.blocks, j < 2,
               j % 2 == 0 ? HullSide::kUpper : HullSide::kLower, slope,
               extremes.rounding);
  }
  const FeasibleSet set = feasible_set_from(
      collect_hulls(view, frame, near, selections, parallel_for), window_units);
  // The certificate: strictly inside the slopes looked at, the hulls are the
  // true ones. Rounding aside it always holds.
  const bool inside = set.wide.low.value() > near - slope &&
                      set.wide.high.value() < near + slope;
  if (inside) return set;
  return feasible_set_from(all_hulls(view, frame), window_units);
}

}  // namespace clockassay
