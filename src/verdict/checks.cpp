// SPDX-License-Identifier: GPL-3.0-or-later
#include "verdict/checks.h"

#include <algorithm>
#include <cmath>

namespace clockassay {
namespace {

constexpr double kPpm = 1e-6;

// Chosen: within it crystals move by a ppm or two, and a room is no better
// known.
constexpr double kNearKelvin = 5.0;

struct Limits {
  double low;
  double high;
};

Limits limits_of(const ToleranceBand& band) {
  return {band.low_ppm.to_double(), band.high_ppm.to_double()};
}

std::optional<double> probability(const MeasuredError& error, double low,
                                  double high) {
  if (!is_usable(error)) return std::nullopt;
  if (low > high) return 0.0;
  return probability_within(error.distribution, error.ppm, low, high);
}

// Of what is decided, that it is not so.
void state_risk(Check& check) {
  if (!check.probability_of_conformity) return;
  const double p = *check.probability_of_conformity;
  if (check.decision == Decision::kPass) check.specific_risk = 1.0 - p;
  if (check.decision == Decision::kFail) check.specific_risk = p;
}

// A check of the present error; numbers that are none are left absent.
Check check_now(const MeasuredError& error, const Limits& limits) {
  Check check;
  check.unit = "ppm";
  check.low = limits.low;
  check.high = limits.high;
  if (!is_usable(error)) return check;
  check.value = error.ppm;
  check.expanded_uncertainty = error.expanded_ppm;
  check.decision =
      decide(error.ppm, error.expanded_ppm, limits.low, limits.high);
  check.probability_of_conformity = probability(error, limits.low, limits.high);
  state_risk(check);
  return check;
}

// Widened to zero; nothing where it is not stated.
LifeBand around_zero(const std::optional<ToleranceBand>& band) {
  if (!band) return {};
  return {std::min(0.0, band->low_ppm.to_double()),
          std::max(0.0, band->high_ppm.to_double())};
}

std::string life_subject(const SourceTolerance& tolerance) {
  if (!tolerance.ageing) return "over temperature, ageing not stated";
  if (!tolerance.temperature) return "over ageing, temperature not stated";
  return "over temperature and ageing";
}

// The worse end of what the clock may become. Without limits: the one farther
// from nominal.
double worse_end(const MeasuredError& error, const LifeBand& band,
                 const std::optional<Limits>& limits) {
  const double low_end = error.ppm + band.low;
  const double high_end = error.ppm + band.high;
  const double low_room = limits ? low_end - limits->low : low_end;
  const double high_room = limits ? limits->high - high_end : -high_end;
  return high_room <= low_room ? high_end : low_end;
}

Check check_life(const ClockSpec& clock, const MeasuredError& error,
                 const LifeBand& band, const RequirementAsked* asked) {
  std::optional<Limits> limits;
  if (asked != nullptr) limits = limits_of(*asked->limits_ppm);
  Check check;
  check.check = "life";
  check.subject = life_subject(clock.tolerance);
  check.unit = "ppm";
  // Without a limit there is nothing to decide: what it may become is shown.
  check.advisory = asked == nullptr || !asked->may_decide;
  if (asked != nullptr) {
    check.subject = asked->title + ", " + check.subject;
    check.source = asked->source;
    check.counts_pulses = asked->counts_pulses;
    check.low = limits->low;
    check.high = limits->high;
  }
  if (!is_usable(error)) return check;
  check.value = worse_end(error, band, limits);
  check.expanded_uncertainty = error.expanded_ppm;
  if (!limits) return check;
  const double U = error.expanded_ppm;
  const Decision now = decide(error.ppm, U, limits->low, limits->high);
  const Decision later =
      decide(error.ppm, U, limits->low - band.low, limits->high - band.high);
  if (now == Decision::kFail) {
    check.decision = Decision::kFail;
  } else if (now == Decision::kPass && later == Decision::kPass) {
    check.decision = Decision::kPass;
  }
  check.probability_of_conformity =
      probability(error, limits->low - band.low, limits->high - band.high);
  // It fails for what it is now, and that check states how sure that is.
  if (check.decision == Decision::kPass) state_risk(check);
  return check;
}

Check check_requirement(const RequirementAsked& asked,
                        const MeasuredError& error) {
  Check check = check_now(error, limits_of(*asked.limits_ppm));
  check.check = "requirement";
  check.subject = asked.title;
  check.source = asked.source;
  check.advisory = !asked.may_decide;
  check.counts_pulses = asked.counts_pulses;
  return check;
}

}  // namespace

bool is_usable(const MeasuredError& error) {
  return std::isfinite(error.ppm) && std::isfinite(error.expanded_ppm) &&
         error.expanded_ppm > 0.0 && is_proper(error.distribution);
}

MeasuredError measured_error(const Budget& budget, double expected_hz) {
  const double f = budget.frequency.value.value();
  const double scale = f / expected_hz;
  MeasuredError error;
  error.ppm = (f - expected_hz) / expected_hz / kPpm;
  error.expanded_ppm = budget.expanded_ppm.value() * scale;
  error.coverage = budget.frequency.coverage;
  // Stays improper, and so refused, where it cannot be scaled.
  if (is_proper(budget.error_ppm) && std::isfinite(scale) && scale > 0.0) {
    error.distribution = scaled(budget.error_ppm, scale);
  }
  return error;
}

bool is_far_from_band_zero(const SourceTolerance& tolerance) {
  return tolerance.captured_at_c &&
         std::abs(tolerance.captured_at_c->to_double() - kBandCelsius) >
             kNearKelvin;
}

LifeBand temperature_moves(const SourceTolerance& tolerance) {
  const LifeBand band = around_zero(tolerance.temperature);
  if (!is_far_from_band_zero(tolerance)) return band;
  return {band.low - band.high, band.high - band.low};
}

std::optional<LifeBand> life_band(const SourceTolerance& tolerance) {
  if (!tolerance.temperature && !tolerance.ageing) return std::nullopt;
  const LifeBand temperature = temperature_moves(tolerance);
  const LifeBand ageing = around_zero(tolerance.ageing);
  if (tolerance.combine == CombineRule::kRootSumSquare) {
    return LifeBand{-std::hypot(temperature.low, ageing.low),
                    std::hypot(temperature.high, ageing.high)};
  }
  return LifeBand{temperature.low + ageing.low, temperature.high + ageing.high};
}

std::vector<Check> make_checks(const ClockSpec& clock,
                               const MeasuredError& error) {
  std::vector<Check> checks;
  Check tolerance = check_now(error, limits_of(clock.tolerance.make));
  tolerance.check = "tolerance";
  tolerance.subject = "make tolerance, now";
  tolerance.source = "specification";
  checks.push_back(std::move(tolerance));
  const auto add_of = [&](std::size_t requirement, Check check) {
    check.requirement = requirement;
    check.requirement_id = clock.requirements[requirement].id;
    checks.push_back(std::move(check));
  };
  const auto& asked = clock.requirements;
  std::vector<std::size_t> of_frequency;
  for (std::size_t i = 0; i < asked.size(); ++i) {
    if (asked[i].limits_ppm) of_frequency.push_back(i);
  }
  for (const std::size_t i : of_frequency) {
    add_of(i, check_requirement(asked[i], error));
  }
  const std::optional<LifeBand> band = life_band(clock.tolerance);
  if (!band) return checks;
  for (const std::size_t i : of_frequency) {
    add_of(i, check_life(clock, error, *band, &asked[i]));
  }
  if (of_frequency.empty()) {
    checks.push_back(check_life(clock, error, *band, nullptr));
  }
  return checks;
}

Decision worst_decision(const std::vector<Check>& checks) {
  std::optional<Decision> worst;
  for (const Check& check : checks) {
    if (check.advisory) continue;
    // The enumerators stand in order of badness.
    worst = std::max(worst.value_or(Decision::kPass), check.decision);
  }
  return worst.value_or(Decision::kUndecided);
}

}  // namespace clockassay
