// SPDX-License-Identifier: GPL-3.0-or-later
#include "drift/caveats.h"

#include <cmath>
#include <cstddef>

#include "drift/set_points.h"
#include "drift/shown_number.h"

namespace clockassay {
namespace {

void add_freedom(const DriftAssay& assay, std::vector<std::string>& said) {
  const CurveFit& fit = chosen_fit(assay);
  const std::size_t sets = set_points(assay.points).size.size();
  const bool several = sets < assay.points.size();
  const std::string points = std::to_string(sets);
  const std::string what = several ? " set points" : " points";
  if (several) {
    said.push_back(
        std::to_string(assay.points.size()) + " readings were taken at " +
        points +
        " set points: readings of one set point count as one, for the error of "
        "its temperature, and whatever else was alike, does not average out. "
        "What was read on another visit is told apart by time_s or sweep.");
  }
  const std::string model = curve_model_name(fit.model);
  if (fit.dof < 1) {
    said.push_back("A " + model + " goes through any " + points + what +
                   ": nothing tells whether it is the right curve, nor "
                   "whether the stated uncertainties are true.");
  } else if (fit.dof < 2) {
    said.push_back(points + what + " leave one degree of freedom beside a " +
                   model +
                   ": whether it is the right curve can hardly be "
                   "told.");
  }
  if (fit.dof >= 1 && assay.choice.fits.size() == 3 && !tested_between(assay)) {
    said.push_back("The points are at " + std::to_string(assay.distinct) +
                   " different temperatures, too few or too far apart for a "
                   "cubic: whether the curve is one between them cannot be "
                   "told.");
  }
  if (assay.choice.fits.size() < 3) {
    said.push_back(std::string("Too few temperatures for a ") +
                   curve_model_name(
                       static_cast<CurveModel>(assay.choice.fits.size() + 1)) +
                   ": whether the curve bends more than a " +
                   curve_model_name(assay.choice.fits.back().model) +
                   " cannot be told.");
  }
}

void add_scatter(const CurveFit& fit, std::vector<std::string>& said) {
  if (fit.scatter == Scatter::kTooLarge) {
    said.push_back("The points scatter " + shown(*fit.birge_ratio) +
                   " times as far about the curve as their stated "
                   "uncertainties say: these are widened by as much, and "
                   "Student's t is used for " +
                   std::to_string(fit.dof) + " degrees of freedom.");
  }
  if (fit.scatter != Scatter::kAsStated) {
    said.push_back(
        "What jumps between the readings, as a compensation by steps does, is "
        "not seen, least where they are evenly spaced: read such a clock at "
        "uneven distances, or along a slow ramp.");
  }
  if (fit.scatter == Scatter::kEstimated) {
    said.push_back(
        "No uncertainties are stated: the scatter about the curve is used, by "
        "Student's t for " +
        std::to_string(fit.dof) + " degrees of freedom.");
  }
  if (!fit.converged) {
    said.push_back(
        "The most likely temperatures did not settle: their uncertainties are "
        "too large for the span they cover.");
  }
}

// Columns that are there and have no effect.
void add_unused(const DriftAssay& assay, std::vector<std::string>& said) {
  const bool bounded = assay.instrument.ageing.has_value();
  std::size_t times = 0;
  std::size_t sweeps = 0;
  bool negative = false;
  for (const DriftPoint& p : assay.points) {
    times += p.time_s.has_value();
    negative = negative || p.time_s.value_or(0.0) < 0.0;
    sweeps += p.sweep != Sweep::kNotStated;
  }
  const std::string all = std::to_string(assay.points.size());
  if (times > 0 && !assay.ageing && !bounded) {
    const std::string why =
        times < assay.points.size()
            ? std::to_string(times) + " of " + all + " points state their time"
        : negative
            ? std::string("some are below zero, and ageing begins at 0")
            : std::string("they are all alike, or the points are too few");
    said.push_back("The times are not used, because " + why +
                   ": no ageing is looked for.");
  }
  if (sweeps > 0 && !assay.hysteresis) {
    said.push_back(
        "The sweeps are not used, because " +
        (sweeps < assay.points.size()
             ? std::to_string(sweeps) + " of " + all + " points state theirs"
             : std::string("it takes two points each way")) +
        ": no hysteresis is looked for.");
  }
}

void add_lag(const DriftAssay& assay, std::vector<std::string>& said) {
  if (!assay.hysteresis || !assay.hysteresis->lag_significant) return;
  const Stated& lag = *assay.hysteresis->lag;
  said.push_back("At one reading of the thermometer the crystal was " +
                 shown_with(lag.value, lag.expanded, "K") +
                 " warmer on the way up than on the way down, as the two ways "
                 "have it: a thermometer that lags, or a loop of the crystal "
                 "that looks like one. U holds half of it along the "
                 "temperatures. To tell, go slower, or wait at each "
                 "temperature.");
}

void add_ageing(const DriftAssay& assay, std::vector<std::string>& said) {
  if (const auto& bound = assay.instrument.ageing) {
    said.push_back("Ageing within ±" + shown(bound->value()) +
                   " ppm over the series is in U as stated, in any pattern; "
                   "times are not used for the curve.");
    return;
  }
  if (!assay.ageing) return;
  const Ageing& ageing = *assay.ageing;
  if (ageing_not_told(assay)) {
    said.push_back("Time and temperature went together: only " +
                   shown(100.0 * ageing.separable) +
                   " % of an ageing term is not a curve as well, so ageing and "
                   "temperature cannot be told apart: U holds no ageing.");
    return;
  }
  if (!ageing.evident) {
    said.push_back(
        "Times are stated, so U holds what ageing that does not show may do. "
        "If the part is known to age less in that time, state it "
        "(--ageing-limit).");
    return;
  }
  if (!rate_identified(ageing)) {
    said.push_back(std::string("The rate B of the ageing A ln(B t + 1) is not "
                               "identified: ") +
                   (ageing.high_per_day
                        ? "a straight line in time fits as well."
                    : ageing.low_per_day
                        ? "all larger ones fit as well, up to a straight line "
                          "in the logarithm of time."
                        : "all rates fit as well."));
  }
}

void add_outliers(const DriftAssay& assay, std::vector<std::string>& said) {
  for (const Outlier& o : assay.outliers) {
    said.push_back("Point " + std::to_string(o.point + 1) + " at " +
                   shown(assay.points[o.point].temperature_c) +
                   " degC stands " + shown(o.residual_ppm) +
                   " ppm off the curve of the others. It is used all the "
                   "same; see what changes without it.");
  }
  if (assay.without_outliers &&
      assay.without_outliers->chosen != assay.choice.chosen) {
    const auto& fit =
        assay.without_outliers->fits[assay.without_outliers->chosen];
    said.push_back(std::string("Without the marked points the curve is a ") +
                   curve_model_name(fit.model) + ", not a " +
                   curve_model_name(chosen_fit(assay).model) + ".");
  }
}

}  // namespace

std::vector<std::string> drift_caveats(const DriftAssay& assay) {
  std::vector<std::string> said;
  add_freedom(assay, said);
  add_scatter(chosen_fit(assay), said);
  add_unused(assay, said);
  add_lag(assay, said);
  add_ageing(assay, said);
  add_outliers(assay, said);
  return said;
}

}  // namespace clockassay
