// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/estimate/steady_periods.h"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <vector>

#include "base/median.h"
#include "estimate/jitter_tails.h"

namespace clockassay {
namespace {

// Chosen: as many as are needed to say what is usual.
constexpr std::size_t kFewestSteady = 8;

std::vector<std::int64_t> periods_of(const EdgeView& view) {
  std::vector<std::int64_t> periods;
  BlockEdges edges;
  std::optional<Cycles> number;
  Ticks time;
  for (std::size_t i = 0; i < view.block_count(); ++i) {
    view.read_block(i, edges);
    for (std::size_t j = 0; j < edges.rise.count; ++j) {
      const Cycles n = edges.first_cycle + Cycles(edges.rise.cycle[j]);
      const Ticks t = edges.first_tick + Ticks(edges.rise.tick[j]);
      if (number && n - *number == Cycles(1)) {
        periods.push_back((t - time).count());
      }
      number = n;
      time = t;
    }
  }
  return periods;
}

// Sums of periods less their median.
struct PeriodSum {
  std::size_t count = 0;
  std::int64_t sum = 0;

  void add(std::int64_t difference) {
    ++count;
    sum += difference;
  }
  double mean(std::int64_t middle) const {
    return static_cast<double>(middle) +
           static_cast<double>(sum) / static_cast<double>(count);
  }
};

// The last edges of many.
EdgeView last_of(const EdgeView& view, std::int64_t rising) {
  if (rising <= kMostSteadyEdges) return view;
  const double share =
      static_cast<double>(kMostSteadyEdges) / static_cast<double>(rising);
  const auto length = static_cast<double>((view.to() - view.from()).count());
  const auto ticks = static_cast<std::int64_t>(share * length);
  return view.part(view.to() - Ticks(ticks), view.to());
}

}  // namespace

std::optional<SteadyPeriods> find_steady_periods(const EdgeView& view,
                                                 std::int64_t rising,
                                                 double window_ticks,
                                                 double period_ticks,
                                                 double tick_s) {
  const std::vector<std::int64_t> periods = periods_of(last_of(view, rising));
  if (periods.size() < kFewestSteady) return std::nullopt;
  const std::int64_t middle = median(periods);
  std::vector<std::int64_t> differences;
  for (const std::int64_t p : periods) {
    differences.push_back(std::abs(p - middle));
  }
  // Of a normal distribution the standard deviation is that many medians.
  constexpr double kOfMedian = 1.4826;
  const double most =
      std::max(2.0 * window_ticks,
               6.0 * kOfMedian * static_cast<double>(median(differences)));
  // Where the median tells of no jitter there may be some.
  if (most <= 2.0 * window_ticks &&
      are_of_jitter(periods, middle, window_ticks)) {
    return std::nullopt;
  }
  PeriodSum steady;
  PeriodSum no_short;
  bool are_off_short = true;
  for (const std::int64_t p : periods) {
    const bool is_off = static_cast<double>(std::abs(p - middle)) > most;
    if (is_off && p > middle) are_off_short = false;
    if (!is_off) steady.add(p - middle);
    if (p >= middle) no_short.add(p - middle);
  }
  const std::size_t off = periods.size() - steady.count;
  if (off == 0 || 3 * off > periods.size() || steady.count < kFewestSteady) {
    return std::nullopt;
  }
  const auto against_line = [period_ticks](double mean) {
    return Ppm((period_ticks / mean - 1.0) * 1e6);
  };
  SteadyPeriods found;
  found.periods = static_cast<std::int64_t>(periods.size());
  found.off = static_cast<std::int64_t>(off);
  found.mean = Seconds(steady.mean(middle) * tick_s);
  found.difference = against_line(steady.mean(middle));
  if (are_off_short) found.of_no_short = against_line(no_short.mean(middle));
  return found;
}

}  // namespace clockassay
