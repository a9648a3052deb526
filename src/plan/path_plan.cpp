// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/plan/path_plan.h"

#include <algorithm>
#include <cmath>
#include <numeric>

namespace clockassay {
namespace {

constexpr double kPpm = 1e6;

/// (a - b)/b in ppm, exact up to the last division.
double apart(const Rational& a, const Rational& b) {
  const auto ratio = divide(a, b);
  if (!ratio) return (a.to_double() / b.to_double() - 1.0) * kPpm;
  const auto difference = subtract(*ratio, Rational(1));
  return difference ? difference->to_double() * kPpm
                    : (ratio->to_double() - 1.0) * kPpm;
}

/// Whether what is seen of two frequencies may be the same.
bool alike(const Rational& a, const Rational& b, const PathSource& source) {
  const double fa = a.to_double();
  const double fb = b.to_double();
  const double difference = std::abs(apart(a, b)) * fb;
  // Of the slower one up, of the faster one down.
  const double up = source.high_ppm + source.timebase_ppm;
  const double down = source.timebase_ppm - source.low_ppm;
  return difference <= up * std::min(fa, fb) + down * std::max(fa, fb);
}

void sort_by_nearness(std::vector<PathSlip>& slips) {
  std::stable_sort(
      slips.begin(), slips.end(), [](const PathSlip& a, const PathSlip& b) {
        return std::abs(a.difference_ppm) < std::abs(b.difference_ppm);
      });
}

void find_coincidences(PathPlan& plan) {
  std::vector<std::size_t> order(plan.slips.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  const auto frequency = [&plan](std::size_t i) -> const Rational& {
    return plan.slips[i].neighbour.frequency_hz;
  };
  std::stable_sort(order.begin(), order.end(),
                   [&](std::size_t a, std::size_t b) {
                     return frequency(a) < frequency(b);
                   });
  for (std::size_t k = 1; k < order.size(); ++k) {
    const std::size_t a = order[k - 1];
    const std::size_t b = order[k];
    if (!alike(frequency(b), frequency(a), plan.source)) continue;
    plan.coincidences.push_back(
        {std::min(a, b), std::max(a, b), apart(frequency(b), frequency(a))});
  }
}

// `settings` behind the source of `source`.
std::optional<ClockPath> behind(const ClockPath& source,
                                const ClockPath& settings) {
  ClockPath path = settings;
  path.source_hz = source.source_hz;
  path.source_text = source.source_text;
  const auto change = divide(source.source_hz, settings.source_hz);
  const auto frequency =
      change ? multiply(settings.frequency_hz, *change) : std::nullopt;
  if (!frequency) return std::nullopt;
  path.frequency_hz = *frequency;
  path.text = clock_path_expression(path);
  return path;
}

std::optional<PathSlip> slip_of(const PathPlan& plan, const ClockPath& path,
                                std::string description) {
  const auto ratio = divide(path.frequency_hz, plan.path.frequency_hz);
  if (!ratio) return std::nullopt;
  PathSlip slip;
  slip.neighbour.expression = clock_path_expression(path);
  slip.neighbour.description = std::move(description);
  slip.neighbour.ratio = *ratio;
  slip.neighbour.frequency_hz = path.frequency_hz;
  slip.neighbour.factor = path.factors.size();
  slip.neighbour.factors = path.factors;
  slip.difference_ppm = apart(path.frequency_hz, plan.path.frequency_hz);
  slip.like_intended =
      alike(path.frequency_hz, plan.path.frequency_hz, plan.source);
  return slip;
}

// `former` by the new source, factor i changed so that it keeps its frequency.
std::optional<PathSlip> keeping(const PathPlan& plan, const ClockPath& former,
                                std::size_t i) {
  const PathFactor& factor = former.factors[i];
  const auto change = divide(plan.path.source_hz, former.source_hz);
  if (!change || !factor.value.is_integer()) return std::nullopt;
  const auto value = factor.divides ? multiply(factor.value, *change)
                                    : divide(factor.value, *change);
  if (!value || !value->is_integer() || *value == factor.value) {
    return std::nullopt;
  }
  ClockPath path = former;
  path.source_hz = plan.path.source_hz;
  path.source_text = plan.path.source_text;
  path.factors[i].value = *value;
  path.factors[i].text = value->to_string();
  return slip_of(plan, path,
                 std::string(factor.divides ? "divider " : "multiplier ") +
                     factor.text + " made " + value->to_string());
}

}  // namespace

Result<FormerPath> plan_former(const PathPlan& plan,
                               std::string_view expression) {
  auto read = parse_clock_path(expression);
  if (!read) return tl::unexpected(read.error());
  auto former = std::optional<ClockPath>(*std::move(read));
  if (former->factors.empty()) former = behind(*former, plan.path);
  const auto unchanged = former ? behind(plan.path, *former) : std::nullopt;
  const auto old_source = former ? behind(*former, plan.path) : std::nullopt;
  if (!unchanged || !old_source) {
    return failure(ErrorCode::kOutOfRange,
                   "\"" + std::string(expression) + "\" and \"" +
                       plan.path.text +
                       "\" have no ratio that can be held exactly",
                   "use factors with fewer digits");
  }
  FormerPath result;
  result.path = *former;
  const auto a = slip_of(plan, *unchanged, "new source, former settings");
  const auto b = slip_of(plan, *old_source, "former source, new settings");
  if (a) result.unchanged = *a;
  if (b) result.old_source = *b;
  for (std::size_t i = 0; i < former->factors.size(); ++i) {
    if (auto slip = keeping(plan, *former, i)) result.keeps.push_back(*slip);
  }
  return result;
}

Result<PathPlan> plan_path(std::string_view expression,
                           const PathSource& source) {
  PathPlan plan;
  plan.source = source;
  plan.widest_ppm =
      std::max(std::abs(source.low_ppm), std::abs(source.high_ppm));
  auto path = parse_clock_path(expression);
  if (!path) return tl::unexpected(path.error());
  plan.path = *std::move(path);
  auto neighbours = path_neighbours(plan.path);
  if (!neighbours) return tl::unexpected(neighbours.error());
  const Rational& intended = plan.path.frequency_hz;
  for (PathNeighbour& neighbour : *neighbours) {
    PathSlip slip;
    slip.difference_ppm = apart(neighbour.frequency_hz, intended);
    slip.like_intended = alike(neighbour.frequency_hz, intended, source);
    slip.neighbour = std::move(neighbour);
    plan.slips.push_back(std::move(slip));
  }
  sort_by_nearness(plan.slips);
  find_coincidences(plan);
  return plan;
}

}  // namespace clockassay
