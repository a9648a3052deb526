// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/drift/part.h"

#include <cmath>

#include "drift/shown_number.h"

namespace clockassay {
namespace {

constexpr double kDatum = 25.0;

constexpr AtLaw kAtLaws[] = {
    {-5.08 / 60.0, -0.45e-3, 108.6e-6,
     "Gerber and Ballato, Precision Frequency Control vol. 2, 1985, p. 101, "
     "quoted third-hand",
     false},
    {-5.15 / 60.0, 0.4e-3, 109.5e-6, "from memory; its b has the other sign",
     true}};

// A cubic coefficient that far from the law's is no AT cut. Chosen: the two
// laws differ by 1 %, and double rotations are not looked for.
constexpr double kCubicShare = 0.2;

// Tuning forks: -0.030 ± 0.010 ppm/K^2 about 25 ± 5 degrees, as a maker states.
constexpr double kForkCurvature = -0.030;
constexpr double kForkCurvatureSpread = 0.010;
constexpr double kForkTurnover = 25.0;
constexpr double kForkTurnoverSpread = 5.0;
// Below are forks, above are plates, as for their loads (docs/load.md).
constexpr double kForkBelowHz = 1e6;

// No quartz curve here is that steep: an AT cut 8 minutes off stays below
// 1 ppm/K over -40 … 85, a fork 60 K from its turnover below 5 ppm/K.
constexpr double kSteepPpmPerK = 10.0;

std::string with_uncertainty(const Stated& s, const char* unit) {
  return shown(s.value) + " ± " + shown(s.expanded) + " " + unit;
}

void judge_cubic(const DriftAssay& assay, PartFinding& finding) {
  const auto c = curve_coefficients(chosen_fit(assay), kDatum);
  const AtLaw& law = kAtLaws[0];
  const double off = std::abs(c[3].value - law.c);
  const std::string found =
      "The cubic coefficient is " + with_uncertainty(c[3], "ppm/K^3") +
      "; an AT cut has " + shown(law.c) + " (" + law.source + ").";
  finding.reasons.push_back(found);
  if (!(off <= c[3].expanded + kCubicShare * law.c)) return;
  finding.kind = PartKind::kAtCut;
  for (const AtLaw& each : kAtLaws) {
    finding.cut_angles.push_back({c[1].value / each.a_per_minute,
                                  c[1].expanded / std::abs(each.a_per_minute),
                                  each});
  }
  finding.reasons.push_back(
      "The slope at 25 degC is " + with_uncertainty(c[1], "ppm/K") + ": " +
      shown(finding.cut_angles[0].minutes) + " ± " +
      shown(finding.cut_angles[0].expanded) +
      " minutes of cut from the zero angle; by the rival law (" +
      kAtLaws[1].source + ") " + shown(finding.cut_angles[1].minutes) + ".");
}

bool fits_fork(const Stated& curvature,
               const std::vector<Turnover>& turnovers) {
  if (turnovers.empty()) return false;
  const Turnover& t = turnovers.front();
  const double low = t.low_c.value_or(t.temperature_c);
  const double high = t.high_c.value_or(t.temperature_c);
  return std::abs(curvature.value - kForkCurvature) <=
             kForkCurvatureSpread + curvature.expanded &&
         low <= kForkTurnover + kForkTurnoverSpread &&
         high >= kForkTurnover - kForkTurnoverSpread;
}

void judge_parabola(const DriftAssay& assay, std::optional<Hertz> frequency,
                    PartFinding& finding) {
  const Stated curvature = curve_coefficients(chosen_fit(assay), kDatum)[2];
  finding.reasons.push_back(
      "The curve is a parabola of " + with_uncertainty(curvature, "ppm/K^2") +
      "; a tuning fork has " + shown(kForkCurvature) + " ± " +
      shown(kForkCurvatureSpread) +
      " about 25 ± 5 degC (a maker's data sheet), a BT cut about -0.04 (from "
      "memory: it decides nothing).");
  if (!(curvature.value < 0.0)) return;
  const bool fork = fits_fork(curvature, assay.turnovers);
  if (!frequency) {
    finding.reasons.push_back(
        "A curve alone does not tell a tuning fork from a BT cut: state the "
        "crystal's frequency.");
    return;
  }
  if (frequency->value() >= kForkBelowHz) {
    finding.kind = PartKind::kBtCut;
    finding.reasons.push_back(
        "At this frequency it is no tuning fork, and of the plates a BT cut "
        "has a parabola (interquip.com; its shape only).");
  } else if (fork) {
    finding.kind = PartKind::kTuningFork;
  }
}

void judge_line(const DriftAssay& assay, PartFinding& finding) {
  const Stated slope = curve_coefficients(chosen_fit(assay), kDatum)[1];
  if (std::abs(slope.value) - slope.expanded > kSteepPpmPerK) {
    finding.kind = PartKind::kRcOscillator;
    finding.reasons.push_back(
        "The slope is " + with_uncertainty(slope, "ppm/K") +
        ": no quartz is that steep; RC oscillators are, about 300 ppm/K (data "
        "sheets of microcontrollers).");
    return;
  }
  finding.reasons.push_back("A straight line of " +
                            with_uncertainty(slope, "ppm/K") +
                            " is not steep enough for an RC oscillator, and "
                            "shows no bend that would tell a cut: measure over "
                            "a wider span.");
}

}  // namespace

std::span<const AtLaw> at_laws() {
  return kAtLaws;
}

Ppm at_cut_error(const AtLaw& law, double minutes, double temperature_c) {
  const double x = temperature_c - kDatum;
  return Ppm(x * (law.a_per_minute * minutes + x * (law.b + x * law.c)));
}

const char* part_kind_name(PartKind kind) {
  switch (kind) {
    case PartKind::kNotTold:
      return "not told";
    case PartKind::kAtCut:
      return "AT cut";
    case PartKind::kTuningFork:
      return "tuning fork";
    case PartKind::kBtCut:
      return "BT cut";
    case PartKind::kRcOscillator:
      return "RC oscillator";
  }
  return "not told";
}

PartFinding infer_part(const DriftAssay& assay,
                       std::optional<Hertz> frequency) {
  PartFinding finding;
  switch (chosen_fit(assay).model) {
    case CurveModel::kCubic:
      judge_cubic(assay, finding);
      break;
    case CurveModel::kParabola:
      judge_parabola(assay, frequency, finding);
      break;
    case CurveModel::kLine:
      judge_line(assay, finding);
      break;
  }
  return finding;
}

}  // namespace clockassay
