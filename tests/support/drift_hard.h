// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <random>

#include "support/drift_trial.h"

namespace clockassay::testing {

/// Series whose curve is none of the models, or that tell too little of it.
enum class HardScene {
  kCompensated,  ///< waves of 0.6 ppm, 26 points of 0.02 ppm
  kWavesNoU,     ///< the same, no u stated
  kSaw14,        ///< forks compensated in steps of 3 to 5 K, growing to the
                 ///< cold, 14 points of 0.02 ppm, no u stated
  kSaw26,        ///< the same, 26 points
  kQuartic,      ///< AT cuts with a term of fourth order, up to ten u
  kQuarticNoU,   ///< the same, no u stated
  kLoop,         ///< AT cuts, 13 points up and down, a loop of up to 1 ppm
                 ///< that closes at the ends
  kLag,          ///< AT cuts read up and down by a thermometer 1 to 4 K late
  kBadEnd,       ///< AT cuts, the reading at one end off by ten u
  kThreePairs,   ///< AT cuts, three pairs of readings 2 K apart, u of 1 ppm
  kWidePairs,    ///< three pairs 9 K apart
  kWideQuartic,  ///< the same with a term of fourth order, u of 0.1 ppm
  kFourPairs,    ///< four pairs 2 K apart
  kFive,         ///< AT cuts, five temperatures evenly spread, u of 0.1 ppm
  kSix,
  kSeven,
  kSevenQuartic,  ///< the same with a term of fourth order
  kFiveQuartic,   ///< five with a term of fourth order
  kFiveGap,  ///< the same, the last but one temperature 77 K below the last
  kSixGap,
  kSevenGap,
  kRising,      ///< time rises with temperature, ageing of up to 2 ppm
  kWeakAgeing,  ///< forks that age by 0.4 ppm in 30 days, in random order
  kNoAgeing,    ///< forks with times, in random order, that do not age
};
constexpr HardScene kHardScenes[] = {
    HardScene::kCompensated, HardScene::kWavesNoU,     HardScene::kSaw14,
    HardScene::kSaw26,       HardScene::kQuartic,      HardScene::kQuarticNoU,
    HardScene::kLoop,        HardScene::kLag,          HardScene::kBadEnd,
    HardScene::kThreePairs,  HardScene::kWidePairs,    HardScene::kWideQuartic,
    HardScene::kFourPairs,   HardScene::kFive,         HardScene::kSix,
    HardScene::kSeven,       HardScene::kSevenQuartic, HardScene::kFiveQuartic,
    HardScene::kFiveGap,     HardScene::kSixGap,       HardScene::kSevenGap,
    HardScene::kRising,      HardScene::kWeakAgeing,   HardScene::kNoAgeing};
const char* scene_name(HardScene scene);
/// The degree of the true curve; 0: none of the models.
int scene_degree(HardScene scene);

DriftTrial drift_trial(HardScene scene, std::mt19937_64& random);

}  // namespace clockassay::testing
