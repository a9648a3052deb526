// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/drift/ageing.h"

#include "drift/ageing_profile.h"
#include "drift/curve_row.h"

namespace clockassay {
namespace {

// The largest curve that leaves two degrees of freedom beside A and B.
std::optional<CurveFit> largest_curve(std::span<const DriftPoint> points,
                                      const CurveTerms& terms,
                                      const InstrumentTerms& instrument,
                                      double coverage) {
  for (const CurveModel model :
       {CurveModel::kCubic, CurveModel::kParabola, CurveModel::kLine}) {
    auto fit = fit_curve(points, model, terms, instrument, coverage);
    if (fit && fit->dof >= 4) return *fit;
  }
  return std::nullopt;
}

}  // namespace

std::optional<Ageing> find_ageing(std::span<const DriftPoint> points,
                                  const CurveTerms& terms,
                                  const InstrumentTerms& instrument,
                                  double coverage) {
  AgeingProblem problem;
  for (const DriftPoint& p : points) {
    if (!p.time_s) return std::nullopt;
    problem.time_s.push_back(*p.time_s);
  }
  CurveTerms plain = terms;
  plain.ageing.reset();
  const auto curve = largest_curve(points, plain, instrument, coverage);
  if (!curve) return std::nullopt;
  problem.base.resize(curve->parameters.size());
  for (std::size_t i = 0; i < points.size(); ++i) {
    CurvePlace place;
    place.temperature_c = curve->temperature[i];
    place.branch = points[i].sweep;
    const std::vector<Real> row = row_at(*curve, place);
    Real on_curve = 0.0L;
    for (std::size_t j = 0; j < row.size(); ++j) {
      problem.base[j].push_back(row[j]);
      on_curve += row[j] * curve->parameters[j];
    }
    problem.response.push_back(on_curve + Real(curve->residual[i]));
    problem.variance.push_back(Real(curve->expected[i]) *
                               Real(curve->expected[i]));
  }
  // Ageing itself may make the scatter too large: then it is judged by what is
  // left of it.
  problem.scale_known = curve->scatter == Scatter::kAsStated;
  return profile_ageing(problem);
}

}  // namespace clockassay
