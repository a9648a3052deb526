// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <functional>
#include <random>
#include <vector>

#include "clockassay/drift/series.h"

namespace clockassay::testing {

/// A part whose curve is known, as it is measured in an oven.
enum class PartScene {
  kFork,  ///< k (T - T0)^2, k -0.030 ± 0.010 ppm/K^2, T0 25 ± 5
  kAt0,   ///< AT cut, 0, 1.7, 3, 5, 8 minutes from the zero angle
  kAt1_7,
  kAt3,
  kAt5,
  kAt8,
  kBt,  ///< parabola of -0.04 ppm/K^2 about -10 … 60
  kRc,  ///< a line of up to 300 ppm/K, measured to 20 ppm
};
constexpr PartScene kPartScenes[] = {
    PartScene::kFork, PartScene::kAt0, PartScene::kAt1_7, PartScene::kAt3,
    PartScene::kAt5,  PartScene::kAt8, PartScene::kBt,    PartScene::kRc};
const char* scene_name(PartScene scene);
/// The degree of the true curve.
int scene_degree(PartScene scene);

enum class Trouble {
  kNone,
  kHysteresis,   ///< sweeps apart by up to five u
  kOutliers,     ///< one point in eight off by 8 to 15 u
  kTimebase,     ///< the instrument moves by up to its stability while the oven
                 ///< does, along a straight line, a bend or a wave
  kUnderstated,  ///< u stated a third of what it is
  kNoneStated,   ///< no u stated
  kThermometer,  ///< all temperatures off by up to a stated 0.5 K alike
  kAgeing,       ///< 26 points over 30 days, A ln(B t + 1) of up to ten u
};
constexpr Trouble kTroubles[] = {Trouble::kNone,        Trouble::kHysteresis,
                                 Trouble::kOutliers,    Trouble::kTimebase,
                                 Trouble::kUnderstated, Trouble::kNoneStated,
                                 Trouble::kThermometer, Trouble::kAgeing};
const char* trouble_name(Trouble trouble);

struct DriftTrial {
  std::vector<DriftPoint> points;
  InstrumentTerms instrument;
  /// True error at a temperature, on one branch, at the time of the last point.
  std::function<double(double, Sweep)> truth;
  /// True errors of an ageing part when its points were read; else empty.
  std::vector<double> when_read;
};

/// Thirteen points for crystals, over -20 … 70 °C for forks and -40 … 85 for
/// the others, nine over 0 … 60 for RC oscillators; with sweeps as many each
/// way.
DriftTrial drift_trial(PartScene scene, Trouble trouble,
                       std::mt19937_64& random);

}  // namespace clockassay::testing
