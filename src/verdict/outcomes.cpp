// SPDX-License-Identifier: GPL-3.0-or-later
#include "verdict/outcomes.h"

#include <algorithm>
#include <optional>

namespace clockassay {
namespace {

struct Interval {
  double low;
  double high;

  void cut(double to_low, double to_high) {
    low = std::max(low, to_low);
    high = std::min(high, to_high);
  }
  bool is_empty() const { return low > high; }
};

bool is_of_frequency(const Check& check) {
  return check.unit == "ppm" && check.low && check.high;
}

// Some of what may be lies outside.
bool reaches_beyond(const Interval& may_be, double low, double high) {
  return may_be.low < low || may_be.high > high;
}

}  // namespace

std::pair<double, double> limits_to_pass(const Check& check,
                                         const ClockSpec& clock) {
  double low = *check.low;
  double high = *check.high;
  if (check.check == "life") {
    if (const std::optional<LifeBand> band = life_band(clock.tolerance)) {
      low -= band->low;
      high -= band->high;
    }
  }
  return {low, high};
}

Outcomes possible_outcomes(const std::vector<Check>& checks,
                           const ClockSpec& clock, const MeasuredError& error) {
  const Interval now = {error.ppm - error.expanded_ppm,
                        error.ppm + error.expanded_ppm};
  Interval passes = now;
  Interval fails_not = now;
  Outcomes outcomes;
  bool may_pass = true;
  for (const Check& check : checks) {
    if (check.advisory) continue;
    if (!is_of_frequency(check)) {
      outcomes.fail = outcomes.fail || check.decision == Decision::kFail;
      may_pass = may_pass && check.decision == Decision::kPass;
      if (check.decision == Decision::kUndecided) outcomes.open = check.subject;
      continue;
    }
    const auto [low, high] = limits_to_pass(check, clock);
    passes.cut(low, high);
    fails_not.cut(*check.low, *check.high);
  }
  if (outcomes.fail) return outcomes;
  outcomes.fail = fails_not.is_empty() ||
                  reaches_beyond(now, fails_not.low, fails_not.high);
  outcomes.pass = may_pass && !passes.is_empty();
  if (fails_not.is_empty()) return outcomes;
  for (const Check& check : checks) {
    if (check.advisory || !is_of_frequency(check)) continue;
    const auto [low, high] = limits_to_pass(check, clock);
    if (low > high || reaches_beyond(fails_not, low, high)) {
      outcomes.open = check.subject;
    }
  }
  outcomes.undecided = !outcomes.open.empty();
  return outcomes;
}

std::string outcomes_sentence(const Outcomes& outcomes) {
  std::vector<std::string> names;
  if (outcomes.pass) names.emplace_back("pass");
  if (outcomes.fail) names.emplace_back("fail");
  if (outcomes.undecided) names.emplace_back("undecided");
  std::string text = outcomes.pass ? "The verdict can then be "
                                   : "The verdict can then only be ";
  for (std::size_t i = 0; i < names.size(); ++i) {
    if (i > 0) text += i + 1 == names.size() ? " or " : ", ";
    text += names[i];
  }
  if (outcomes.undecided) {
    text += ", because \"" + outcomes.open + "\" ";
    text += outcomes.pass ? "may stay open" : "cannot pass";
  }
  return text + ".";
}

}  // namespace clockassay
