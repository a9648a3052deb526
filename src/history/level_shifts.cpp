// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/history/level_shifts.h"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <random>

#include "clockassay/estimate/student_t.h"

namespace clockassay {
namespace {

constexpr int kOrders = 999;
constexpr std::uint64_t kSeed = 20260101;

struct Cut {
  std::size_t at = 0;      // first value of the second part
  double statistic = 0.0;  // squared difference of the means over its variance
                           // for a scatter of one
};

double mean_of(std::span<const double> values) {
  double sum = 0.0;
  for (const double v : values) sum += v;
  return sum / static_cast<double>(values.size());
}

// The cut whose parts differ most. The scatter about the two means falls as
// this grows, so that the order of cuts, and of orders, is that of Student's t.
Cut best_cut(std::span<const double> values, std::size_t fewest) {
  Cut best;
  const auto n = static_cast<double>(values.size());
  const double mean = mean_of(values);
  double sum = 0.0;  // of the first part, about the mean of all
  for (std::size_t i = 0; i + 1 < values.size(); ++i) {
    sum += values[i] - mean;
    const std::size_t first = i + 1;
    if (first < fewest || values.size() - first < fewest) continue;
    const auto k = static_cast<double>(first);
    const double statistic = sum * sum * n / (k * (n - k));
    if (statistic > best.statistic) best = {first, statistic};
  }
  return best;
}

// How many of all orders of the values have as good a cut: the share among
// those drawn, and the one that is there.
double chance_of(std::span<const double> values, const Cut& cut,
                 std::size_t fewest) {
  std::mt19937_64 random(kSeed);
  std::vector<double> order(values.begin(), values.end());
  int as_good = 1;
  for (int i = 0; i < kOrders; ++i) {
    // By hand: std::shuffle leaves open how it draws.
    for (std::size_t j = order.size() - 1; j > 0; --j) {
      std::swap(order[j], order[random() % (j + 1)]);
    }
    // Rounding must not make an order of the same parts another one.
    constexpr double kSame = 1.0 - 1e-12;
    if (best_cut(order, fewest).statistic >= kSame * cut.statistic) ++as_good;
  }
  return static_cast<double>(as_good) / (kOrders + 1);
}

double squares_about(std::span<const double> values, double mean) {
  double sum = 0.0;
  for (const double v : values) sum += (v - mean) * (v - mean);
  return sum;
}

// Between the level before and the one after, as far as those reach.
LevelShift describe(std::span<const double> before,
                    std::span<const double> after) {
  LevelShift shift;
  shift.before = mean_of(before);
  shift.after = mean_of(after);
  const auto n = static_cast<double>(before.size());
  const auto m = static_cast<double>(after.size());
  const double dof = n + m - 2.0;
  const double variance = (squares_about(before, shift.before) +
                           squares_about(after, shift.after)) /
                          dof;
  shift.expanded = student_t_two_sided(0.95, dof) *
                   std::sqrt(variance * (1.0 / n + 1.0 / m));
  return shift;
}

struct Step {
  std::size_t at = 0;
  double chance = 1.0;
};

void look_at(std::span<const double> values, std::size_t offset,
             const ShiftOptions& options, std::vector<Step>& steps) {
  if (values.size() < fewest_for_a_shift(options)) return;
  const Cut cut = best_cut(values, options.fewest);
  if (!(cut.statistic > 0.0)) return;
  const double chance = chance_of(values, cut, options.fewest);
  if (chance > options.alarms) return;
  look_at(values.first(cut.at), offset, options, steps);
  steps.push_back({offset + cut.at, chance});
  look_at(values.subspan(cut.at), offset + cut.at, options, steps);
}

}  // namespace

std::size_t fewest_for_a_shift(const ShiftOptions& options) {
  std::size_t n = 2 * options.fewest;
  const auto rarest = [](std::size_t count) {
    double orders = 1.0;
    for (std::size_t k = 1; k <= count / 2; ++k) {
      orders *= static_cast<double>(count - k + 1) / static_cast<double>(k);
    }
    return 2.0 / orders;
  };
  // More than are drawn show no smaller a chance.
  while (rarest(n) > std::max(options.alarms, 1.0 / (kOrders + 1))) ++n;
  return n;
}

std::vector<LevelShift> find_level_shifts(std::span<const double> values,
                                          const ShiftOptions& options) {
  std::vector<Step> steps;
  look_at(values, 0, options, steps);
  std::vector<LevelShift> shifts;
  for (std::size_t i = 0; i < steps.size(); ++i) {
    const std::size_t at = steps[i].at;
    const std::size_t from = i == 0 ? 0 : steps[i - 1].at;
    const std::size_t to =
        i + 1 == steps.size() ? values.size() : steps[i + 1].at;
    shifts.push_back(
        describe(values.subspan(from, at - from), values.subspan(at, to - at)));
    shifts.back().first = at;
    shifts.back().chance = steps[i].chance;
  }
  return shifts;
}

}  // namespace clockassay
