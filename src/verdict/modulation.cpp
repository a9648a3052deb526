// SPDX-License-Identifier: GPL-3.0-or-later
#include "verdict/modulation.h"

#include <algorithm>
#include <string>

#include "verdict/wording.h"

namespace clockassay {
namespace {

bool is_of_mean(const Check& check) {
  return (check.check == "tolerance" || check.check == "requirement") &&
         check.unit == "ppm" && check.value && check.low && check.high &&
         !check.advisory && check.decision != Decision::kFail;
}

/// A part that ran elsewhere than the whole.
struct Part {
  CoursePoint point;
  double ppm = 0.0;  ///< its error
  double most_off_ppm = 0.0;
};

// The part that is outside by most, whatever jitter and sampling do to it; of a
// mean that is outside itself one that is farther out: else nothing moves.
std::optional<Part> part_outside(const FrequencyHistory& history,
                                 const Check& check, double settled_s) {
  const double f = history.final_frequency.value();
  std::optional<Part> worst;
  double most = 0.0;
  for (const CoursePoint& p : history.course) {
    if (p.from.value() < settled_s || !(f > 0.0)) continue;
    Part part;
    part.point = p;
    part.ppm = *check.value + (p.frequency.value() / f - 1.0) * 1e6;
    part.most_off_ppm =
        (p.most_off.value() + history.final_half_width.value()) / f * 1e6 +
        history.time_wander.value();
    const double below = std::min(*check.low, *check.value) - part.ppm;
    const double above = part.ppm - std::max(*check.high, *check.value);
    const double outside = std::max(below, above) - part.most_off_ppm;
    if (outside > most) {
      most = outside;
      worst = part;
    }
  }
  return worst;
}

std::string spread_words(const SpreadSpectrum& spread) {
  return "the frequency goes up and down by " +
         ppm_text(0.5 * spread.depth.value(),
                  spread.depth_uncertainty.value()) +
         " ppm either way of its mean, " +
         number_text(spread.rate.value() / 1e3, 4) + " thousand times a second";
}

std::string part_words(const Part& part) {
  return "the frequency moves: from " +
         number_text(part.point.from.value(), 4) + " s to " +
         number_text(part.point.to.value(), 4) + " s the clock was " +
         fast_or_slow(part.ppm, part.most_off_ppm);
}

std::string outside_words(const Check& check) {
  const bool mean_keeps =
      *check.value >= *check.low && *check.value <= *check.high;
  return ", outside " + band_text(*check.low, *check.high) + " (" +
         check.subject + ") for part of the time" +
         (mean_keeps ? "; only the mean keeps that" : "");
}

}  // namespace

const Check* left_by_spread(const ClockEvidence& evidence,
                            const std::vector<Check>& checks) {
  if (!evidence.spread) return nullptr;
  const SpreadSpectrum& spread = *evidence.spread;
  const double half =
      0.5 * (spread.depth.value() + 2.0 * spread.depth_uncertainty.value());
  const auto left =
      std::find_if(checks.begin(), checks.end(), [half](const Check& c) {
        const double reach = half + c.expanded_uncertainty.value_or(0.0);
        return is_of_mean(c) &&
               (*c.value - reach < *c.low || *c.value + reach > *c.high);
      });
  return left == checks.end() ? nullptr : &*left;
}

std::optional<Warning> modulation_warning(
    const ClockEvidence& evidence, const std::vector<Check>& checks,
    const std::optional<Rational>& settle_within_s) {
  if (const Check* left = left_by_spread(evidence, checks)) {
    return Warning{WarningCode::kFrequencyModulated,
                   spread_words(*evidence.spread) + outside_words(*left)};
  }
  const double settled = settle_within_s ? settle_within_s->to_double() : 0.0;
  for (const Check& check : checks) {
    if (!is_of_mean(check)) continue;
    if (const auto part = part_outside(evidence.history, check, settled)) {
      return Warning{WarningCode::kFrequencyModulated,
                     part_words(*part) + outside_words(check)};
    }
  }
  return std::nullopt;
}

}  // namespace clockassay
