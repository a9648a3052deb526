// SPDX-License-Identifier: GPL-3.0-or-later
#include "support/drift_hard.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <vector>

#include "clockassay/drift/curve.h"
#include "clockassay/drift/part.h"

namespace clockassay::testing {
namespace {

using Random = std::mt19937_64;
using Curve = std::function<double(double)>;

constexpr double kLow = -40.0;
constexpr double kHigh = 85.0;
constexpr double kDays = 30.0;

double between(Random& random, double low, double high) {
  return std::uniform_real_distribution<double>(low, high)(random);
}

// Two waves, as what a compensation leaves: of 60 to 120 K and half of that.
Curve waves(Random& random) {
  const double length = between(random, 60.0, 120.0);
  const double first = between(random, 0.0, 2.0 * std::numbers::pi);
  const double second = between(random, 0.0, 2.0 * std::numbers::pi);
  return [=](double t) {
    const double turn = 2.0 * std::numbers::pi * t / length;
    return 0.4 * std::sin(turn + first) + 0.2 * std::sin(2.0 * turn + second);
  };
}

// A fork whose compensation goes in steps: right in the middle of each, and a
// saw whose height grows with the distance from the turnover.
Curve saw(Random& random) {
  const double step = between(random, 3.0, 5.0);
  const double first = between(random, 0.0, step);
  const double k = between(random, -0.040, -0.030);
  const double turnover = between(random, 20.0, 30.0);
  return [=](double t) {
    const double middle = first + step * (std::floor((t - first) / step) + 0.5);
    return k * ((t - turnover) * (t - turnover) -
                (middle - turnover) * (middle - turnover));
  };
}

Curve at_cut(Random& random) {
  const double minutes = between(random, 0.0, 8.0);
  return
      [=](double t) { return at_cut_error(at_laws()[0], minutes, t).value(); };
}

// What no cubic takes up of it is a Chebyshev polynomial of that height.
Curve quartic(Random& random) {
  const Curve cut = at_cut(random);
  const double height = between(random, -1.0, 1.0);
  return [=](double t) {
    const double x = (t - 0.5 * (kLow + kHigh)) / (0.5 * (kHigh - kLow));
    return cut(t) + height * (8.0 * x * x * x * x - 8.0 * x * x + 1.0);
  };
}

Curve fork(Random& random) {
  const double k = between(random, -0.040, -0.030);
  const double turnover = between(random, 20.0, 30.0);
  return [=](double t) { return k * (t - turnover) * (t - turnover); };
}

std::vector<double> evenly(int count) {
  std::vector<double> at;
  for (int i = 0; i < count; ++i) {
    at.push_back(kLow + (kHigh - kLow) * i / (count - 1));
  }
  return at;
}

// All but the last in the coldest 48 K.
std::vector<double> with_gap(int count) {
  std::vector<double> at;
  for (int i = 0; i + 1 < count; ++i)
    at.push_back(kLow + 48.0 * i / (count - 2));
  at.push_back(kHigh);
  return at;
}

// The first and the last reading are at the ends of the span.
std::vector<double> pairs(int count, double apart) {
  std::vector<double> at;
  for (int i = 0; i < count; ++i) {
    const double low = kLow + (kHigh - kLow - apart) * i / (count - 1);
    at.push_back(low);
    at.push_back(low + apart);
  }
  return at;
}

struct Plan {
  Curve curve;
  std::vector<double> at;
  double u_ppm = 0.1;
  bool timed = false;
  double aged_ppm = 0.0;  // from the first reading to the last
  bool swept = false;     // up, then down
  double loop_ppm = 0.0;  // apart in the middle of the span, not at its ends
  double lag_k = 0.0;     // of the thermometer, either way
  double end_ppm = 0.0;   // what the reading at one end is off by
  bool no_u = false;
};

std::vector<double> up_and_down(int count) {
  std::vector<double> at = evenly(count);
  for (int i = count - 1; i >= 0; --i)
    at.push_back(at[static_cast<std::size_t>(i)]);
  return at;
}

// -40 to 60: the slope of the fork, and the saw with it, is steeper in the
// cold.
Plan saw_plan(int count, Random& random) {
  Plan plan{saw(random), evenly(count), 0.02};
  for (double& t : plan.at) t = kLow + (t - kLow) * 0.8;
  plan.no_u = true;
  return plan;
}

Plan swept_plan(HardScene scene, Random& random) {
  Plan plan{at_cut(random), up_and_down(13)};
  plan.swept = true;
  if (scene == HardScene::kLoop) {
    plan.loop_ppm = between(random, 0.0, 1.0);
  } else {
    plan.lag_k = between(random, 1.0, 4.0);
  }
  return plan;
}

Plan bad_end_plan(Random& random) {
  Plan plan{at_cut(random), evenly(13)};
  plan.end_ppm = between(random, 0.0, 1.0) < 0.5 ? -1.0 : 1.0;
  return plan;
}

Plan plan_of(HardScene scene, Random& random) {
  switch (scene) {
    case HardScene::kCompensated:
      return {waves(random), evenly(26), 0.02};
    case HardScene::kWavesNoU: {
      Plan plan{waves(random), evenly(26), 0.02};
      plan.no_u = true;
      return plan;
    }
    case HardScene::kSaw14:
      return saw_plan(14, random);
    case HardScene::kSaw26:
      return saw_plan(26, random);
    case HardScene::kQuartic:
      return {quartic(random), evenly(13)};
    case HardScene::kQuarticNoU: {
      Plan plan{quartic(random), evenly(13)};
      plan.no_u = true;
      return plan;
    }
    case HardScene::kLoop:
    case HardScene::kLag:
      return swept_plan(scene, random);
    case HardScene::kBadEnd:
      return bad_end_plan(random);
    case HardScene::kThreePairs:
      return {at_cut(random), pairs(3, 2.0), 1.0};
    case HardScene::kWidePairs:
      return {at_cut(random), pairs(3, 9.0), 1.0};
    case HardScene::kWideQuartic:
      return {quartic(random), pairs(3, 9.0)};
    case HardScene::kFourPairs:
      return {at_cut(random), pairs(4, 2.0), 1.0};
    case HardScene::kFive:
      return {at_cut(random), evenly(5)};
    case HardScene::kSix:
      return {at_cut(random), evenly(6)};
    case HardScene::kSeven:
      return {at_cut(random), evenly(7)};
    case HardScene::kSevenQuartic:
      return {quartic(random), evenly(7)};
    case HardScene::kFiveQuartic:
      return {quartic(random), evenly(5)};
    case HardScene::kFiveGap:
      return {quartic(random), with_gap(5)};
    case HardScene::kSixGap:
      return {quartic(random), with_gap(6)};
    case HardScene::kSevenGap:
      return {quartic(random), with_gap(7)};
    case HardScene::kRising:
      return {at_cut(random), evenly(13), 0.1, true,
              between(random, -2.0, 2.0)};
    case HardScene::kWeakAgeing:
    case HardScene::kNoAgeing:
      break;
  }
  Plan plan{fork(random), evenly(13), 0.1, true, 0.0};
  if (scene == HardScene::kWeakAgeing) {
    plan.aged_ppm = between(random, 0.0, 1.0) < 0.5 ? -0.4 : 0.4;
  }
  std::shuffle(plan.at.begin(), plan.at.end(), random);
  return plan;
}

}  // namespace

const char* scene_name(HardScene scene) {
  constexpr const char* kNames[] = {"waves",
                                    "waves, no u",
                                    "saw of 14, no u",
                                    "saw of 26, no u",
                                    "AT, 4th order",
                                    "AT, 4th order, no u",
                                    "AT, closing loop",
                                    "AT, late thermometer",
                                    "AT, one end off",
                                    "three pairs",
                                    "three wide pairs",
                                    "three wide pairs, 4th order",
                                    "four pairs",
                                    "five temperatures",
                                    "six",
                                    "seven",
                                    "seven, 4th order",
                                    "five temperatures, 4th order",
                                    "five with a gap, 4th order",
                                    "six with a gap, 4th order",
                                    "seven with a gap, 4th order",
                                    "rising time",
                                    "weak ageing",
                                    "times, no ageing"};
  return kNames[static_cast<std::size_t>(scene)];
}

int scene_degree(HardScene scene) {
  switch (scene) {
    case HardScene::kCompensated:
    case HardScene::kWavesNoU:
    case HardScene::kSaw14:
    case HardScene::kSaw26:
    case HardScene::kQuartic:
    case HardScene::kQuarticNoU:
    case HardScene::kWideQuartic:
    case HardScene::kSevenQuartic:
    case HardScene::kFiveQuartic:
    case HardScene::kFiveGap:
    case HardScene::kSixGap:
    case HardScene::kSevenGap:
      return 0;
    case HardScene::kWeakAgeing:
    case HardScene::kNoAgeing:
      return 2;
    default:
      return 3;
  }
}

namespace {

// What was read on the way of a point: beside the curve half a loop, and the
// thermometer behind.
DriftPoint read_point(const Plan& plan, std::size_t i) {
  DriftPoint p;
  p.temperature_c = plan.at[i];
  if (plan.swept) {
    p.sweep = i < plan.at.size() / 2 ? Sweep::kUp : Sweep::kDown;
    p.temperature_c += p.sweep == Sweep::kUp ? -plan.lag_k : plan.lag_k;
  }
  return p;
}

double half_loop(const Plan& plan, double t, Sweep sweep) {
  if (sweep == Sweep::kNotStated) return 0.0;
  const double x = (t - 0.5 * (kLow + kHigh)) / (0.5 * (kHigh - kLow));
  const double half = 0.5 * plan.loop_ppm * (1.0 - x * x);
  return sweep == Sweep::kUp ? half : -half;
}

}  // namespace

DriftTrial drift_trial(HardScene scene, Random& random) {
  const Plan plan = plan_of(scene, random);
  DriftTrial trial;
  trial.instrument.common = Ppm(plan.u_ppm);
  trial.instrument.stability = Ppm(0.0);
  const double common = between(random, -plan.u_ppm, plan.u_ppm);
  trial.truth = [plan](double t, Sweep sweep) {
    return plan.curve(t) + half_loop(plan, t, sweep);
  };
  const double rate = std::exp(between(random, std::log(0.05), std::log(5.0)));
  std::normal_distribution<double> normal;
  const std::size_t count = plan.at.size();
  for (std::size_t i = 0; i < count; ++i) {
    const double days =
        kDays * static_cast<double>(i) / static_cast<double>(count - 1);
    const double aged =
        plan.aged_ppm *
        (std::log1p(rate * days) / std::log1p(rate * kDays) - 1);
    DriftPoint p = read_point(plan, i);
    const double there = trial.truth(plan.at[i], p.sweep);
    trial.when_read.push_back(there + aged);
    const bool end = plan.end_ppm > 0.0 ? i + 1 == count : i == 0;
    const double off = end ? plan.end_ppm : 0.0;
    p.error = Ppm(there + common + aged + off + plan.u_ppm * normal(random));
    if (!plan.no_u) p.u = Ppm(plan.u_ppm);
    if (plan.timed) p.time_s = days * kSecondsPerDay;
    trial.points.push_back(p);
  }
  return trial;
}

}  // namespace clockassay::testing
