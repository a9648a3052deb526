// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/gap_phase.h"

#include <algorithm>
#include <cmath>
#include <deque>
#include <span>
#include <vector>

#include "clockassay/estimate/student_t.h"

namespace clockassay {
namespace {

/// Edges looked at on either side of a gap. Chosen: enough to average jitter,
/// few enough for no clock to wander.
constexpr std::size_t kReach = 32;
constexpr std::size_t kFewest = 3;

struct Edge {
  std::int64_t k = 0, y = 0;  ///< of the frame
  Ticks tick;
};

/// Edges of one side, about their mean.
struct Side {
  double n = 0.0, k = 0.0, y = 0.0, kk = 0.0, ky = 0.0, yy = 0.0;
};

Side side_of(std::span<const Edge> edges, const Edge& origin) {
  Side s;
  s.n = static_cast<double>(edges.size());
  for (const Edge& e : edges) {
    s.k += static_cast<double>(e.k - origin.k) / s.n;
    s.y += static_cast<double>(e.y - origin.y) / s.n;
  }
  for (const Edge& e : edges) {
    const double k = static_cast<double>(e.k - origin.k) - s.k;
    const double y = static_cast<double>(e.y - origin.y) - s.y;
    s.kk += k * k;
    s.ky += k * y;
    s.yy += y * y;
  }
  return s;
}

/// Sum of the weights that the edges of one side have in the difference of the
/// lines, whatever their sign.
double weights(std::span<const Edge> edges, const Side& s, const Edge& origin,
               double sign, double tilt) {
  double sum = 0.0;
  for (const Edge& e : edges) {
    const double k = static_cast<double>(e.k - origin.k) - s.k;
    sum += std::abs(sign / s.n - tilt * k);
  }
  return sum;
}

/// Variance of each period beyond what white jitter of the edges makes, by the
/// correlation of neighbouring ones, less what chance adds.
double walk_variance(const PeriodSums& p) {
  constexpr double kDeviations = 2.0;  // chosen: once in 40 by chance
  if (p.periods < 2 || p.pairs < 1) return 0.0;
  const double variance = period_variance(p);
  if (!(variance > 0.0)) return 0.0;
  const double above = period_correlation(p) + 0.5;
  const double by_chance =
      kDeviations * std::sqrt(0.5 / static_cast<double>(p.periods));
  return 2.0 * std::max(0.0, above - by_chance) * variance;
}

struct Limits {
  double window = 0.0;
  double walk = 0.0;      ///< variance a period
  double coverage = 0.0;  ///< of one gap's test
};

/// The jump over one gap, if it is beyond the limits.
std::optional<double> jump_between(std::span<const Edge> before,
                                   std::span<const Edge> after,
                                   const Limits& limits) {
  constexpr double kParameters = 3.0;  // a slope and two places
  const Edge& origin = before.front();
  const Side a = side_of(before, origin), b = side_of(after, origin);
  const double kk = a.kk + b.kk;
  const double slope = (a.ky + b.ky) / kk;
  const double apart = b.k - a.k;
  const double jump = b.y - a.y - slope * apart;
  const double dof = a.n + b.n - kParameters;
  const double squares = std::max(0.0, a.yy + b.yy - slope * (a.ky + b.ky));
  const double variance =
      squares / dof * (1.0 / a.n + 1.0 / b.n + apart * apart / kk) +
      limits.walk * apart;
  const double tilt = apart / kk;
  const double sampling = 0.5 * limits.window *
                          (weights(before, a, origin, -1.0, tilt) +
                           weights(after, b, origin, 1.0, tilt));
  const double most = sampling + student_t_two_sided(limits.coverage, dof) *
                                     std::sqrt(variance);
  if (std::abs(jump) <= most) return std::nullopt;
  return jump;
}

/// Follows the rising edges and looks at each gap once it has both sides.
class GapWatch {
 public:
  explicit GapWatch(const Limits& limits) : limits_(limits) {}

  void edge(const Edge& e) {
    if (!recent_.empty() && e.k > recent_.back().k + 1) gaps_.push_back(count_);
    recent_.push_back(e);
    ++count_;
    while (!gaps_.empty() && gaps_.front() + kReach <= count_) settle();
    if (gaps_.empty() && recent_.size() > kReach) recent_.pop_front();
  }
  std::optional<GapJump> finish() {
    while (!gaps_.empty()) settle();
    return widest_;
  }

 private:
  /// The oldest gap: the edges before it and those that came since.
  void settle() {
    const std::size_t at = gaps_.front() - (count_ - recent_.size());
    gaps_.pop_front();
    const std::vector<Edge> edges(
        recent_.begin() +
            static_cast<std::ptrdiff_t>(at - std::min(at, kReach)),
        recent_.begin() +
            static_cast<std::ptrdiff_t>(std::min(at + kReach, recent_.size())));
    const std::size_t before = std::min(at, kReach);
    const std::span<const Edge> all(edges);
    if (before >= kFewest && all.size() - before >= kFewest) {
      const auto jump =
          jump_between(all.first(before), all.subspan(before), limits_);
      if (jump && (!widest_ || std::abs(*jump) > std::abs(widest_->jump))) {
        const Edge& next = all[before];
        widest_ = GapJump{next.k - all[before - 1].k - 1, next.tick, *jump};
      }
    }
    const std::size_t oldest = gaps_.empty() ? count_ : gaps_.front();
    while (!recent_.empty() && count_ - recent_.size() + kReach < oldest) {
      recent_.pop_front();
    }
  }

  Limits limits_;
  std::deque<Edge> recent_;
  std::deque<std::size_t> gaps_;  ///< number of the first edge after each
  std::size_t count_ = 0;
  std::optional<GapJump> widest_;
};

}  // namespace

std::optional<GapJump> find_gap_jump(const EdgeView& view, const EdgeSums& sums,
                                     double window) {
  constexpr double kFalseAlarms = 1e-3;  // chosen: a capture with gaps
  const std::int64_t lost =
      sums.last_cycle - sums.first_cycle + 1 - sums.rise.n;
  if (lost < 1) return std::nullopt;
  Limits limits{window, walk_variance(sums.periods),
                1.0 - kFalseAlarms / static_cast<double>(lost)};
  GapWatch watch(limits);
  BlockEdges block;
  for (std::size_t b = 0; b < view.block_count(); ++b) {
    view.read_block(b, block);
    for (std::size_t i = 0; i < block.rise.count; ++i) {
      const std::int64_t cycle = block.rise.cycle[i], tick = block.rise.tick[i];
      watch.edge(
          {sums.frame.k(block.first_cycle, cycle),
           sums.frame.y(block.first_cycle, block.first_tick, cycle, tick),
           block.first_tick + Ticks(tick)});
    }
  }
  return watch.finish();
}

}  // namespace clockassay
