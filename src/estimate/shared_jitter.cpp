// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/shared_jitter.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <optional>
#include <vector>

#include "clockassay/estimate/frequency_estimate.h"
#include "clockassay/estimate/student_t.h"
#include "estimate/cycle_sample.h"
#include "estimate/frame_block.h"

namespace clockassay {
namespace {

/// An edge in the order of time: two numbers a cycle, the falling edge's odd.
struct NumberedScore {
  std::int64_t number = 0;
  EdgeScore score;
};

void add(NeighbourProducts& sum, const EdgeScore& a, const EdgeScore& b) {
  ++sum.pairs;
  sum.scores += a.score * b.score;
  sum.information += a.information * b.information;
}

void add_pair(NeighbourSums& sums, const NumberedScore& a,
              const NumberedScore& b) {
  if (b.number != a.number + 1) return;
  add(a.number % 2 == 0 ? sums.same_cycle : sums.next_cycle, a.score, b.score);
}

void merge(NeighbourProducts& sum, const NeighbourProducts& part) {
  sum.pairs += part.pairs;
  sum.scores += part.scores;
  sum.information += part.information;
}

/// The edges of a part, one after the other.
class Chain {
 public:
  void edge(const NumberedScore& e) {
    sums_.information += e.score.information;
    if (last_) add_pair(sums_, *last_, e);
    if (!first_) first_ = e;
    last_ = e;
  }
  /// Goes on with a part that comes after this one.
  void append(const Chain& part) {
    if (!part.first_) return;
    merge(sums_.same_cycle, part.sums_.same_cycle);
    merge(sums_.next_cycle, part.sums_.next_cycle);
    sums_.information += part.sums_.information;
    if (last_) add_pair(sums_, *last_, *part.first_);
    if (!first_) first_ = part.first_;
    last_ = part.last_;
  }
  const NeighbourSums& sums() const { return sums_; }

 private:
  NeighbourSums sums_;
  std::optional<NumberedScore> first_, last_;
};

/// The edges of a block that belong to the sample.
template <class Edges>
Chain chain_edges(const Edges& rise, const Edges& fall, const EdgeLines& lines,
                  const PlaceScore& score, const CycleSample& sample) {
  Chain chain;
  const auto add_edge = [&](const Edges& edges, std::size_t i, double start,
                            std::int64_t odd) {
    const std::int64_t k = edges.k(i);
    if (!sample.takes(sample.run_of(k))) return;
    const double offset = static_cast<double>(edges.y(i)) -
                          lines.slope * static_cast<double>(k) - start;
    chain.edge({2 * k + odd, score(offset)});
  };
  for (std::size_t r = 0, f = 0; r < rise.count() || f < fall.count();) {
    const bool falls =
        r == rise.count() || (f < fall.count() && fall.k(f) < rise.k(r));
    if (falls) {
      add_edge(fall, f++, lines.fall, 1);
    } else {
      add_edge(rise, r++, lines.rise, 0);
    }
  }
  return chain;
}

constexpr double kOnceInTwenty = 1.645;
constexpr double kFewestPairs = 8.0;  // chosen: fewer tell nothing

/// Of what neighbours of a kind have in common by chance, in exact edges.
double variance_of(const NeighbourProducts& p) {
  return static_cast<double>(p.information) / (kScoreUnits * kScoreUnits);
}

/// What neighbours of a kind have in common, in exact edges; 0 where that may
/// be chance.
double common(const NeighbourProducts& p) {
  // The line through the edges takes off half an edge's worth: its slope is
  // the mean of both polarities'.
  const double sum =
      static_cast<double>(p.scores) / (kScoreUnits * kScoreUnits) + 0.5;
  const double variance = variance_of(p);
  if (variance < kFewestPairs) return 0.0;
  return sum > kOnceInTwenty * std::sqrt(variance) ? sum : 0.0;
}

/// By how much the variance may be more without showing in so many neighbours.
double unseen_share(const NeighbourSums& sums) {
  const double edges = static_cast<double>(sums.information) / kScoreUnits;
  if (edges <= 0.0) return std::numeric_limits<double>::infinity();
  const auto unseen = [](const NeighbourProducts& p) {
    return kOnceInTwenty * std::sqrt(std::max(variance_of(p), kFewestPairs));
  };
  return 2.0 * (unseen(sums.same_cycle) + unseen(sums.next_cycle)) / edges;
}

NeighbourSums sum_sample(const EdgeView& view, const EdgeFrame& frame,
                         const EdgeLines& lines, const PlaceScore& score,
                         const CycleSample& sample,
                         const ParallelFor& parallel_for) {
  std::vector<Chain> blocks(view.block_count());
  parallel_for(blocks.size(), [&](std::size_t i) {
    if (!sample.may_meet(view, i, frame)) return;
    FrameBlock block;
    block.read(view, i, frame);
    block.visit([&](const auto& rise, const auto& fall) {
      blocks[i] = chain_edges(rise, fall, lines, score, sample);
    });
  });
  Chain all;
  for (const Chain& block : blocks) all.append(block);
  return all.sums();
}

}  // namespace

NeighbourSums sum_neighbours(const EdgeView& view, const EdgeSums& sums,
                             const EdgeLines& lines, const PlaceScore& score,
                             const ParallelFor& parallel_for) {
  // Chosen: what is not seen is less than a hundredth of the half-width. Where
  // jitter is small few edges tell anything, and more are taken.
  constexpr std::int64_t kFirstCycles = 1 << 16;
  constexpr double kMore = 8.0;
  constexpr double kUnseen = 0.02;  // of the variance
  for (std::int64_t most = kFirstCycles;;) {
    const CycleSample sample(sums.first_cycle, sums.last_cycle, most);
    const NeighbourSums neighbours =
        sum_sample(view, sums.frame, lines, score, sample, parallel_for);
    const double times_enough = unseen_share(neighbours) / kUnseen;
    if (sample.has_all() || times_enough <= 1.0) return neighbours;
    // It falls as the root of their number, and a sample may have but half.
    most *= static_cast<std::int64_t>(
        std::clamp(2.0 * times_enough * times_enough, 2.0, kMore));
  }
}

SharedJitter judge_neighbours(const NeighbourSums& sums) {
  SharedJitter shared;
  const double edges = static_cast<double>(sums.information) / kScoreUnits;
  if (edges <= 0.0) return shared;
  // No two neighbours have more in common than all that they say.
  const double same = std::min(common(sums.same_cycle), 0.5 * edges);
  const double next = std::min(common(sums.next_cycle), 0.5 * edges);
  shared.variance_factor = 1.0 + 2.0 * (same + next) / edges;
  shared.lasts = same > 0.0 && next > 0.0;
  return shared;
}

double shared_widening(const SharedJitter& shared, double dof) {
  const double factor = shared.variance_factor;
  if (factor <= 1.0) return 1.0;
  const double all = std::max(dof, 1.0);
  return std::sqrt(factor) *
         student_t_two_sided(kHalfWidthCoverage, std::max(all / factor, 1.0)) /
         student_t_two_sided(kHalfWidthCoverage, all);
}

}  // namespace clockassay
