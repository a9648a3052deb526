// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/uncertainty/budget.h"

#include <cassert>
#include <cmath>
#include <limits>
#include <numbers>
#include <utility>

#include "clockassay/estimate/student_t.h"
#include "clockassay/uncertainty/combine.h"

namespace clockassay {
namespace {

constexpr double kPpm = 1e-6;
constexpr double kUnknown = std::numeric_limits<double>::infinity();

std::string capture_source(EstimateMethod method) {
  switch (method) {
    case EstimateMethod::kFeasibleSet:
      return "a constant frequency passes through every sampling window";
    case EstimateMethod::kLikelihood:
      return "likelihood of Gaussian jitter seen through the sampling windows";
    case EstimateMethod::kLeastSquares:
      return "scatter of the edges, more than sampling hides";
    case EstimateMethod::kIntervalOnly:
      return "bound: few edges, what their sampling windows enclose; taken as "
             "95 %";
  }
  return "";
}

/// JCGM 100, 4.2 and 4.3: from the scatter of what was observed, or from what
/// else is known.
char capture_kind(EstimateMethod method) {
  return method == EstimateMethod::kLikelihood ||
                 method == EstimateMethod::kLeastSquares
             ? 'A'
             : 'B';
}

std::string timebase_source(TimebaseKind kind) {
  switch (kind) {
    case TimebaseKind::kAssumed:
      return "assumed, nothing stated";
    case TimebaseKind::kStated:
      return "stated";
    case TimebaseKind::kCalibrated:
      return "calibrated, offset applied";
    case TimebaseKind::kReference:
      return "reference channel";
  }
  return "";
}

// Standard deviation of the capture's own part, in ppm of the frequency.
double capture_sigma_ppm(const FrequencyEstimate& estimate) {
  const double half_width = estimate.half_width.value();
  const double f = estimate.frequency.value();
  if (!(half_width > 0.0) || !std::isfinite(half_width)) return kUnknown;
  return half_width / student_t_two_sided(kHalfWidthCoverage, std::nullopt) /
         f / kPpm;
}

// The tolerance is of the instrument's nominal rate; of the true frequency it
// is (1 + offset) times less.
double timebase_half_width_ppm(const Timebase& timebase) {
  const double tolerance = timebase.tolerance.value();
  if (!(tolerance >= 0.0)) return kUnknown;
  return tolerance / (1.0 + timebase.offset.value() * kPpm);
}

FrequencyResult result_of(double f, double u_ppm, double expanded_ppm,
                          double coverage) {
  FrequencyResult result;
  result.value = Hertz(f);
  result.standard_uncertainty = Hertz(f * u_ppm * kPpm);
  result.expanded_uncertainty = Hertz(f * expanded_ppm * kPpm);
  result.coverage = coverage;
  return result;
}

// u_c of the lines and its coverage factor.
Combined combine_lines(const std::vector<BudgetLine>& lines) {
  std::vector<Contribution> contributions;
  contributions.reserve(lines.size());
  for (const BudgetLine& line : lines) {
    contributions.push_back({line.standard_uncertainty.value(), line.dof});
  }
  return combine(contributions);
}

}  // namespace

BudgetLine normal_line(std::string name, char type, Ppm standard_uncertainty,
                       std::string source) {
  return {std::move(name),      type,         "normal",
          standard_uncertainty, std::nullopt, std::move(source)};
}

BudgetLine rectangular_line(std::string name, Ppm half_width,
                            std::string source) {
  return {std::move(name), 'B',
          "rectangular",   Ppm(half_width.value() / std::numbers::sqrt3),
          std::nullopt,    std::move(source)};
}

Budget make_budget(const FrequencyEstimate& estimate, const Timebase& timebase,
                   double coverage) {
  const ErrorDistribution error{timebase_half_width_ppm(timebase),
                                capture_sigma_ppm(estimate)};
  const Hertz frequency((1.0 + timebase.offset.value() * kPpm) *
                        estimate.frequency.value());
  return combine_budget(
      estimate, frequency, error,
      {normal_line("sampling and jitter", capture_kind(estimate.method),
                   Ppm(error.normal_sigma), capture_source(estimate.method)),
       rectangular_line("timebase", Ppm(error.rectangle_half_width),
                        timebase_source(timebase.kind))},
      coverage);
}

Budget combine_budget(const FrequencyEstimate& estimate, Hertz frequency,
                      const ErrorDistribution& error_ppm,
                      std::vector<BudgetLine> lines, double coverage) {
  assert(estimate.frequency.value() > 0.0 && frequency.value() > 0.0);
  assert(coverage > 0.0 && coverage < 1.0);
  Budget budget;
  budget.error_ppm = error_ppm;
  budget.lines = std::move(lines);
  const Combined combined = combine_lines(budget.lines);
  const double k = student_t_two_sided(coverage, combined.dof);

  const double sigma = capture_sigma_ppm(estimate);
  budget.expanded_capture_ppm = Ppm(k * sigma);
  budget.relative_to_timebase =
      result_of(estimate.frequency.value(), sigma, k * sigma, coverage);
  budget.relative_to_timebase.coverage_factor = k;

  const double expanded = is_proper(error_ppm)
                              ? expanded_half_width(error_ppm, coverage)
                              : kUnknown;
  budget.expanded_ppm = Ppm(expanded);
  budget.frequency = result_of(frequency.value(), combined.standard_uncertainty,
                               expanded, coverage);
  if (error_ppm.rectangle_half_width == 0.0) {
    budget.frequency.coverage_factor = k;
  }
  return budget;
}

}  // namespace clockassay
