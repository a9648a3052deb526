// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/history/comparison.h"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <numeric>
#include <string_view>

namespace clockassay {
namespace {

constexpr double kPpm = 1e-6;

std::string_view last_part(std::string_view channel) {
  return channel.substr(channel.rfind('.') + 1);
}

bool has_name(std::span<const ClockSeen> clocks, const std::string& channel) {
  return std::any_of(clocks.begin(), clocks.end(),
                     [&](const ClockSeen& c) { return c.channel == channel; });
}

/// The clock of that name; where there is none, the only one whose name ends
/// alike behind its scopes ("clk", "top.clk"), if nothing else claims it.
/// In: own  the clocks that `channel` is one of
const ClockSeen* find_clock(std::span<const ClockSeen> clocks,
                            const std::string& channel,
                            std::span<const ClockSeen> own) {
  const ClockSeen* alike = nullptr;
  for (const ClockSeen& c : clocks) {
    if (c.channel == channel) return &c;
    if (last_part(c.channel) != last_part(channel) || has_name(own, c.channel))
      continue;
    if (alike != nullptr) return nullptr;
    alike = &c;
  }
  const auto so_called = [&](const ClockSeen& c) {
    return last_part(c.channel) == last_part(channel) &&
           !has_name(clocks, c.channel);
  };
  const bool is_alone = std::count_if(own.begin(), own.end(), so_called) == 1;
  return is_alone ? alike : nullptr;
}

bool is_by_one_instrument(const ClockSeen& before, const ClockSeen& after,
                          const ComparisonOptions& options) {
  return options.moves && !before.by_reference && !after.by_reference;
}

double ratio_of(const ClockSeen& before, const ClockSeen& after,
                const ComparisonOptions& options) {
  return is_by_one_instrument(before, after, options)
             ? after.indicated / before.indicated
             : after.frequency / before.frequency;
}

// Of the ratio: each part moves it by as much of itself.
DifferenceDistribution distribution_of(const ClockSeen& before,
                                       const ClockSeen& after,
                                       const ComparisonOptions& options) {
  DifferenceDistribution d;
  const double ratio = ratio_of(before, after, options);
  d.normal_sigma = ratio * std::hypot(before.u.value(), after.u.value());
  if (is_by_one_instrument(before, after, options)) {
    d.rectangle_a = ratio * options.moves->value();
  } else {
    d.rectangle_a = ratio * before.half_width.value();
    d.rectangle_b = ratio * after.half_width.value();
  }
  return d;
}

Decision decide_shift(const ClockShift& s, const ToleranceBand& limit) {
  if (!s.before->doubt.empty() || !s.after->doubt.empty()) {
    return Decision::kUndecided;
  }
  return decide(s.shift.value(), s.expanded.value(), limit.low_ppm.to_double(),
                limit.high_ppm.to_double());
}

std::optional<Figure> change_of(const std::optional<Figure>& before,
                                const std::optional<Figure>& after) {
  if (!before || !after) return std::nullopt;
  return Figure{
      after->value - before->value,
      std::hypot(before->standard_uncertainty, after->standard_uncertainty)};
}

// Of a normal change with that standard uncertainty.
double chance_of(const std::optional<Figure>& change) {
  if (!change) return 1.0;
  const DifferenceDistribution d{0.0, 0.0, change->standard_uncertainty};
  return d.normal_sigma > 0.0 ? two_sided_tail(d, std::abs(change->value))
                              : 1.0;
}

ClockSeen with_expanded(ClockSeen clock, double coverage) {
  const DifferenceDistribution alone{0.0, 0.0, clock.u.value()};
  DifferenceDistribution whole = alone;
  whole.rectangle_a = clock.half_width.value();
  const auto half_width = [coverage](const DifferenceDistribution& d) {
    return standard_uncertainty(d) > 0.0 ? Ppm(expanded_half_width(d, coverage))
                                         : Ppm(0.0);
  };
  clock.expanded = half_width(whole);
  clock.expanded_alone = half_width(alone);
  return clock;
}

ClockShift compare_one(const ClockSeen& before, const ClockSeen& after,
                       const ComparisonOptions& options) {
  ClockShift s;
  s.channel = before.channel;
  s.before = with_expanded(before, options.coverage);
  s.after = with_expanded(after, options.coverage);
  s.shift = Ppm((ratio_of(before, after, options) - 1.0) / kPpm);
  s.distribution = distribution_of(before, after, options);
  s.expanded = Ppm(expanded_half_width(s.distribution, options.coverage));
  s.chance = two_sided_tail(s.distribution, std::abs(s.shift.value()));
  if (before.period_jitter && after.period_jitter &&
      before.period_jitter->value() > 0.0) {
    s.period_jitter_ratio =
        after.period_jitter->value() / before.period_jitter->value();
  }
  s.edge_jitter_change = change_of(before.edge_jitter, after.edge_jitter);
  s.duty_change = change_of(before.duty, after.duty);
  if (options.limit) s.decision = decide_shift(s, *options.limit);
  return s;
}

ClockShift one_sided(const ClockSeen& clock, Presence presence,
                     const ComparisonOptions& options) {
  ClockShift s;
  s.channel = clock.channel;
  s.presence = presence;
  (presence == Presence::kOnlyBefore ? s.before : s.after) =
      with_expanded(clock, options.coverage);
  // A clock that is gone moved by more than any limit; a new one was never
  // asked about.
  if (options.limit && presence == Presence::kOnlyBefore) {
    s.decision = Decision::kFail;
  }
  return s;
}

// Holm (1979): the i-th smallest of m chances is held against alpha/(m - i),
// and the first that is above it ends the list.
template <class Chance, class Mark>
void mark_by_holm(std::vector<ClockShift>& shifts, double alpha, Chance chance,
                  Mark mark) {
  std::vector<ClockShift*> order;
  for (ClockShift& s : shifts) {
    if (s.presence == Presence::kInBoth) order.push_back(&s);
  }
  std::stable_sort(order.begin(), order.end(),
                   [&](const ClockShift* a, const ClockShift* b) {
                     return chance(*a) < chance(*b);
                   });
  for (std::size_t i = 0; i < order.size(); ++i) {
    const double most = alpha / static_cast<double>(order.size() - i);
    if (chance(*order[i]) > most) return;
    mark(*order[i]);
  }
}

}  // namespace

std::vector<ClockShift> compare_clocks(std::span<const ClockSeen> before,
                                       std::span<const ClockSeen> after,
                                       const ComparisonOptions& options) {
  std::vector<ClockShift> shifts;
  for (const ClockSeen& clock : before) {
    const ClockSeen* then = find_clock(after, clock.channel, before);
    shifts.push_back(then != nullptr
                         ? compare_one(clock, *then, options)
                         : one_sided(clock, Presence::kOnlyBefore, options));
  }
  for (const ClockSeen& clock : after) {
    if (find_clock(before, clock.channel, after) != nullptr) continue;
    shifts.push_back(one_sided(clock, Presence::kOnlyAfter, options));
  }
  const double alpha = 1.0 - options.coverage;
  mark_by_holm(
      shifts, alpha, [](const ClockShift& s) { return s.chance; },
      [](ClockShift& s) { s.significant = true; });
  mark_by_holm(
      shifts, alpha,
      [](const ClockShift& s) { return chance_of(s.edge_jitter_change); },
      [](ClockShift& s) { s.jitter_changed = true; });
  mark_by_holm(
      shifts, alpha,
      [](const ClockShift& s) { return chance_of(s.duty_change); },
      [](ClockShift& s) { s.duty_changed = true; });
  return shifts;
}

bool moved_alike(std::span<const ClockShift> shifts, double coverage) {
  std::vector<const ClockShift*> both;
  for (const ClockShift& s : shifts) {
    if (s.presence == Presence::kInBoth) both.push_back(&s);
  }
  if (both.size() < 2) return false;
  // In each capture the time is common, so that their difference is known by
  // the captures alone.
  const auto agree = [coverage](const ClockShift& a, const ClockShift& b) {
    const DifferenceDistribution d{
        0.0, 0.0,
        std::hypot(a.distribution.normal_sigma, b.distribution.normal_sigma)};
    return std::abs(a.shift.value() - b.shift.value()) <=
           expanded_half_width(d, coverage);
  };
  const auto moved = [coverage](const ClockShift& s) {
    const DifferenceDistribution d{0.0, 0.0, s.distribution.normal_sigma};
    return std::abs(s.shift.value()) > expanded_half_width(d, coverage);
  };
  return std::all_of(both.begin(), both.end(), [&](const ClockShift* s) {
    return agree(*s, *both.front()) && moved(*s);
  });
}

}  // namespace clockassay
