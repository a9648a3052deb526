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
// An inflection that far from the law's is none either. Chosen: the two laws
// have theirs at 26.4 and 23.8 degrees; a fork with a cubic term has it more
// than 100 K off.
constexpr double kInflectionSpread = 10.0;

// A parabola of a plate that is that many times more or less curved than the
// BT cut's -0.04 is not called one. Chosen: the figure is from memory, so it
// may only keep a name from being given.
constexpr double kBtCurvature = -0.04;
constexpr double kBtFactor = 2.0;

// Tuning forks: -0.030 ± 0.010 ppm/K² about 25 ± 5 degrees, as a maker states.
constexpr double kForkCurvature = -0.030;
constexpr double kForkCurvatureSpread = 0.010;
constexpr double kForkTurnover = 25.0;
constexpr double kForkTurnoverSpread = 5.0;
// A clock multiplied from a fork warms itself, and its thermometer may be off.
// Chosen: that only keeps a name from being given.
constexpr double kForkRival = 10.0;
// Below are forks, above are plates, as for their loads (docs/load.md).
constexpr double kForkBelowHz = 1e6;

// No quartz curve here is that steep: an AT cut 8 minutes off stays below
// 1 ppm/K over -40 … 85, a fork 60 K from its turnover below 5 ppm/K.
constexpr double kSteepPpmPerK = 10.0;
// Ceramic resonators of some tenths of a per cent over 100 K are less steep
// than that wherever they bend (from memory: it only keeps a name from them).
constexpr double kRcPpmPerK = 100.0;
// Plates above are not called BT cuts: surface waves have such a parabola, too
// (from memory: it only keeps a name from them).
constexpr double kPlateBelowHz = 60e6;

std::string with_uncertainty(const Stated& s, const char* unit) {
  return shown_with(s.value, s.expanded, unit);
}

// Why a cubic is no AT cut; empty: nothing contradicts it.
std::string against_at_cut(const std::vector<Stated>& c,
                           std::optional<Hertz> frequency) {
  const AtLaw& law = kAtLaws[0];
  if (!(c[3].expanded < 0.5 * law.c)) {
    return "The cubic coefficient is not known well enough to tell a cut by.";
  }
  if (!(std::abs(c[3].value - law.c) <= c[3].expanded + kCubicShare * law.c)) {
    return "That is not the cubic of an AT cut.";
  }
  // At the inflection 2 b + 6 c x = 0.
  const double spread = 3.0 * law.c * kInflectionSpread;
  if (!(std::abs(c[2].value - law.b) <= c[2].expanded + spread)) {
    return "The square, " + with_uncertainty(c[2], "ppm/K²") +
           ", is not that of an AT cut, " + shown(law.b) +
           ": another curve, bent by something else.";
  }
  if (frequency && frequency->value() < kForkBelowHz) {
    return "At this frequency there are no AT cuts.";
  }
  return "";
}

void judge_cubic(const DriftAssay& assay, std::optional<Hertz> frequency,
                 PartFinding& finding) {
  const auto c = curve_coefficients(assay.choice, kDatum);
  const AtLaw& law = kAtLaws[0];
  finding.reasons.push_back(
      "The cubic coefficient is " + with_uncertainty(c[3], "ppm/K³") +
      "; an AT cut has " + shown(law.c) + " (" + law.source + ").");
  const std::string against = against_at_cut(c, frequency);
  if (!against.empty()) {
    finding.reasons.push_back(against);
    return;
  }
  finding.kind = PartKind::kAtCut;
  for (const AtLaw& each : kAtLaws) {
    finding.cut_angles.push_back({c[1].value / each.a_per_minute,
                                  c[1].expanded / std::abs(each.a_per_minute),
                                  each});
  }
  finding.reasons.push_back(
      "The slope at 25 degC is " + with_uncertainty(c[1], "ppm/K") + ": " +
      shown_with(finding.cut_angles[0].minutes, finding.cut_angles[0].expanded,
                 "minutes") +
      " of cut from the zero angle; by the rival law (" + kAtLaws[1].source +
      ") " + shown(finding.cut_angles[1].minutes) + ".");
}

bool fits_fork(const Stated& curvature, const std::vector<Turnover>& turnovers,
               double more_k) {
  if (turnovers.empty()) return false;
  const Turnover& t = turnovers.front();
  const double low = t.low_c.value_or(t.temperature_c);
  const double high = t.high_c.value_or(t.temperature_c);
  return std::abs(curvature.value - kForkCurvature) <=
             kForkCurvatureSpread + curvature.expanded &&
         low <= kForkTurnover + kForkTurnoverSpread + more_k &&
         high >= kForkTurnover - kForkTurnoverSpread - more_k;
}

void judge_parabola(const DriftAssay& assay, std::optional<Hertz> frequency,
                    PartFinding& finding) {
  const Stated curvature = curve_coefficients(assay.choice, kDatum)[2];
  finding.reasons.push_back(
      "The curve is a parabola of " + with_uncertainty(curvature, "ppm/K²") +
      "; a tuning fork has " + shown(kForkCurvature) + " ± " +
      shown(kForkCurvatureSpread) +
      " about 25 ± 5 degC (a maker's data sheet), a BT cut about -0.04 (from "
      "memory: it decides nothing).");
  if (!(curvature.value < 0.0)) return;
  if (!frequency) {
    finding.reasons.push_back(
        "A curve alone does not tell a tuning fork from a BT cut: state the "
        "crystal's frequency.");
    return;
  }
  if (frequency->value() < kForkBelowHz) {
    if (fits_fork(curvature, assay.turnovers, 0.0)) {
      finding.kind = PartKind::kTuningFork;
    }
    return;
  }
  const double steeper = curvature.value - curvature.expanded;
  const double flatter = curvature.value + curvature.expanded;
  if (steeper > kBtCurvature / kBtFactor ||
      flatter < kBtCurvature * kBtFactor) {
    finding.reasons.push_back(
        "At this frequency it is no tuning fork, and such a curve is not that "
        "of a BT cut.");
    return;
  }
  if (fits_fork(curvature, assay.turnovers, kForkRival)) {
    finding.reasons.push_back(
        "At this frequency it is no tuning fork itself, but a clock that is "
        "multiplied from one has its curve: a BT cut or such a clock. If a "
        "fork is the source, state it (--expect '32768Hz * ...').");
    return;
  }
  if (frequency->value() > kPlateBelowHz) {
    finding.reasons.push_back(
        "At this frequency a resonator of surface waves has such a parabola "
        "as well as a BT cut (from memory): the curve does not tell them "
        "apart.");
    return;
  }
  finding.kind = PartKind::kBtCut;
  finding.reasons.push_back(
      "At this frequency it is no tuning fork, and of the plates a BT cut has "
      "a parabola (interquip.com; its shape only). A clock divided from a "
      "resonator of surface waves has one, too (from memory).");
}

void judge_line(const DriftAssay& assay, PartFinding& finding) {
  const Stated slope = curve_coefficients(assay.choice, kDatum)[1];
  finding.reasons.push_back("A straight line of " +
                            with_uncertainty(slope, "ppm/K") +
                            " is not steep enough for an RC oscillator, and "
                            "shows no bend that would tell a cut: measure over "
                            "a wider span.");
}

// Whether some of the measured span is steeper than any quartz, whatever its
// bend.
bool judge_steepness(const DriftAssay& assay, PartFinding& finding) {
  constexpr int kSteps = 16;  // chosen: a cubic has no slope between to miss
  Stated steepest;
  double most = 0.0;
  for (int i = 0; i <= kSteps; ++i) {
    CurvePlace place;
    place.temperature_c =
        assay.measured.low_c +
        (assay.measured.high_c - assay.measured.low_c) * i / kSteps;
    place.derivative = 1;
    const Stated slope = curve_at(chosen_fit(assay), place);
    const double sure = std::abs(slope.value) - slope.expanded;
    if (!(sure > most)) continue;
    most = sure;
    steepest = slope;
  }
  if (!(most > kSteepPpmPerK)) return false;
  const bool rc = most > kRcPpmPerK;
  finding.kind = rc ? PartKind::kRcOscillator : PartKind::kNoQuartz;
  finding.reasons.push_back(
      "The slope comes to " + with_uncertainty(steepest, "ppm/K") +
      ": no quartz is that steep; " +
      (rc ? "RC oscillators are, about 300 ppm/K (data sheets of "
            "microcontrollers)."
          : "an RC oscillator is, or a ceramic resonator (from memory)."));
  return true;
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
    case PartKind::kNoQuartz:
      return "no quartz";
  }
  return "not told";
}

namespace {

PartFinding infer_by(const DriftAssay& assay, std::optional<Hertz> frequency) {
  PartFinding finding;
  if (judge_steepness(assay, finding)) return finding;
  switch (chosen_fit(assay).model) {
    case CurveModel::kCubic:
      judge_cubic(assay, frequency, finding);
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

}  // namespace

// A name that a marked point gives is none.
PartFinding infer_part(const DriftAssay& assay,
                       std::optional<Hertz> frequency) {
  PartFinding finding = infer_by(assay, frequency);
  if (!assay.without_outliers) return finding;
  DriftAssay without = assay;
  without.choice = *assay.without_outliers;
  without.turnovers = curve_turnovers(without.choice, without.measured);
  const PartFinding other = infer_by(without, frequency);
  if (other.kind == finding.kind) return finding;
  PartFinding none;
  none.reasons = {std::string("The marked points decide: with them it looks "
                              "like \"") +
                  part_kind_name(finding.kind) + "\", without them \"" +
                  part_kind_name(other.kind) + "\". Measure there again."};
  return none;
}

}  // namespace clockassay
