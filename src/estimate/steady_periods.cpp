// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/estimate/steady_periods.h"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <vector>

#include "base/median.h"

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

}  // namespace

std::optional<SteadyPeriods> find_steady_periods(const EdgeView& view,
                                                 std::int64_t rising,
                                                 double window_ticks,
                                                 double period_ticks,
                                                 double tick_s) {
  if (rising > kMostSteadyEdges) return std::nullopt;
  const std::vector<std::int64_t> periods = periods_of(view);
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
  std::size_t steady = 0;
  std::int64_t sum = 0;  // less the median each
  for (const std::int64_t p : periods) {
    if (static_cast<double>(std::abs(p - middle)) > most) continue;
    ++steady;
    sum += p - middle;
  }
  const std::size_t off = periods.size() - steady;
  if (off == 0 || 3 * off > periods.size() || steady < kFewestSteady) {
    return std::nullopt;
  }
  const double mean = static_cast<double>(middle) +
                      static_cast<double>(sum) / static_cast<double>(steady);
  SteadyPeriods found;
  found.periods = static_cast<std::int64_t>(periods.size());
  found.off = static_cast<std::int64_t>(off);
  found.mean = Seconds(mean * tick_s);
  found.difference = Ppm((period_ticks / mean - 1.0) * 1e6);
  return found;
}

}  // namespace clockassay
