// SPDX-License-Identifier: GPL-3.0-or-later
#include "support/drift_trial.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <utility>

#include "clockassay/drift/curve.h"

namespace clockassay::testing {
namespace {

using Random = std::mt19937_64;

double between(Random& random, double low, double high) {
  return std::uniform_real_distribution<double>(low, high)(random);
}

// Coefficients about 25 degrees in ppm per power of a kelvin.
struct Part {
  double c[4];
  double low_c, high_c;
  int points;
  double u_ppm;
};

// -0.0847 ppm/K per minute of cut, -0.45e-3 ppm/K^2, 108.6e-6 ppm/K^3: Gerber
// and Ballato 1985, quoted third-hand; here only a shape to draw from.
Part at_cut(double minutes) {
  return {
      {0.0, -5.08 / 60.0 * minutes, -0.45e-3, 108.6e-6}, -40.0, 85.0, 13, 0.1};
}

Part parabola(double k, double turnover, double low_c, double high_c) {
  const double x0 = turnover - 25.0;
  return {{k * x0 * x0, -2.0 * k * x0, k, 0.0}, low_c, high_c, 13, 0.1};
}

Part part_of(PartScene scene, Random& random) {
  switch (scene) {
    case PartScene::kFork:
      return parabola(between(random, -0.040, -0.030),
                      between(random, 20.0, 30.0), -20.0, 70.0);
    case PartScene::kAt0:
      return at_cut(0.0);
    case PartScene::kAt1_7:
      return at_cut(1.7);
    case PartScene::kAt3:
      return at_cut(3.0);
    case PartScene::kAt5:
      return at_cut(5.0);
    case PartScene::kAt8:
      return at_cut(8.0);
    case PartScene::kBt:
      return parabola(-0.040, between(random, -10.0, 60.0), -40.0, 85.0);
    case PartScene::kRc:
      break;
  }
  return {{between(random, -5000.0, 5000.0), between(random, -300.0, 300.0),
           0.0, 0.0},
          0.0,
          60.0,
          9,
          20.0};
}

// What the instrument does while the series runs, -1 … 1.
std::function<double(double)> wander(Random& random) {
  const double sign = between(random, 0.0, 1.0) < 0.5 ? -1.0 : 1.0;
  const double phase = between(random, 0.0, 2.0 * std::numbers::pi);
  switch (std::uniform_int_distribution<int>(0, 2)(random)) {
    case 0:
      return [=](double x) { return sign * (2.0 * x - 1.0); };
    case 1:
      return [=](double x) { return sign * (1.0 - 2.0 * std::exp(-5.0 * x)); };
    default:
      return [=](double x) {
        return std::sin(2.0 * std::numbers::pi * 1.5 * x + phase);
      };
  }
}

void add_outliers(DriftTrial& trial, double u_ppm, Random& random) {
  const std::size_t count = trial.points.size() / 8;
  for (std::size_t k = 0; k < count; ++k) {
    // Apart from each other, or one would be moved twice.
    const std::size_t at =
        k * 8 + std::uniform_int_distribution<std::size_t>(0, 7)(random);
    const double sign = between(random, 0.0, 1.0) < 0.5 ? -1.0 : 1.0;
    trial.points[at].error =
        trial.points[at].error + Ppm(sign * between(random, 8.0, 15.0) * u_ppm);
  }
}

constexpr double kDays = 30.0;  // of a series that ages

struct TrueAgeing {
  double a = 0.0;  // ppm
  double b = 0.0;  // per day
  double before_end(double days) const {
    return a * (std::log1p(b * days) - std::log1p(b * kDays));
  }
};

TrueAgeing ageing_of(Trouble trouble, double u_ppm, Random& random) {
  if (trouble != Trouble::kAgeing) return {};
  const double a = between(random, 0.0, 10.0) * u_ppm;
  return {a, std::exp(between(random, std::log(0.05), std::log(5.0)))};
}

// Half of the series in an order by chance, half up and down once.
std::vector<int> order_of(int count, bool ageing, Random& random) {
  std::vector<int> order(static_cast<std::size_t>(count));
  for (int i = 0; i < count; ++i) order[static_cast<std::size_t>(i)] = i;
  if (ageing && between(random, 0.0, 1.0) < 0.5) {
    std::shuffle(order.begin(), order.end(), random);
  }
  return order;
}

}  // namespace

const char* scene_name(PartScene scene) {
  constexpr const char* kNames[] = {"fork",  "AT 0′", "AT 1.7′", "AT 3′",
                                    "AT 5′", "AT 8′", "BT",      "RC"};
  return kNames[static_cast<std::size_t>(scene)];
}

int scene_degree(PartScene scene) {
  if (scene == PartScene::kRc) return 1;
  const bool square = scene == PartScene::kFork || scene == PartScene::kBt;
  return square ? 2 : 3;
}

const char* trouble_name(Trouble trouble) {
  constexpr const char* kNames[] = {"none",        "hysteresis",    "outliers",
                                    "timebase",    "u understated", "no u",
                                    "thermometer", "ageing"};
  return kNames[static_cast<std::size_t>(trouble)];
}

DriftTrial drift_trial(PartScene scene, Trouble trouble, Random& random) {
  const Part part = part_of(scene, random);
  DriftTrial trial;
  // As large as u, so that either would show if it were reckoned wrong.
  trial.instrument.common = Ppm(part.u_ppm);
  trial.instrument.stability = Ppm(trouble == Trouble::kTimebase ? 1.0 : 0.0);
  const double common = between(random, -part.u_ppm, part.u_ppm);
  const auto moves = wander(random);
  const bool sweeps = trouble == Trouble::kHysteresis;
  const double offset = sweeps ? between(random, 0.0, 5.0) * part.u_ppm : 0.0;
  constexpr double kThermometer = 0.2;  // K
  std::normal_distribution<double> normal;
  trial.truth = [=](double t, Sweep branch) {
    const double x = t - 25.0;
    const double share =
        branch == Sweep::kNotStated ? 0.0 : (branch == Sweep::kUp ? 0.5 : -0.5);
    return part.c[0] + x * (part.c[1] + x * (part.c[2] + x * part.c[3])) +
           share * offset;
  };
  const bool ages = trouble == Trouble::kAgeing;
  constexpr double kCommonThermometer = 0.5;  // K
  double reads = 0.0;
  if (trouble == Trouble::kThermometer) {
    trial.instrument.thermometer_k = kCommonThermometer;
    reads = between(random, -kCommonThermometer, kCommonThermometer);
  }
  const TrueAgeing ageing = ageing_of(trouble, part.u_ppm, random);
  const int count = sweeps || ages ? 2 * part.points : part.points;
  const std::vector<int> order = order_of(count, ages, random);
  for (int i = 0; i < count; ++i) {
    DriftPoint p;
    const int turn = order[static_cast<std::size_t>(i)];
    const int at = turn < part.points ? turn : 2 * part.points - 1 - turn;
    double aged = 0.0;
    if (ages) {
      const double days = kDays * i / (count - 1);
      p.time_s = days * kSecondsPerDay;
      aged = ageing.before_end(days);
    }
    if (sweeps) p.sweep = i < part.points ? Sweep::kUp : Sweep::kDown;
    const double t =
        part.low_c + (part.high_c - part.low_c) * at / (part.points - 1);
    p.temperature_c = t + reads + kThermometer * normal(random);
    p.u_temperature_c = kThermometer;
    p.error = Ppm(trial.truth(t, p.sweep) + common + aged +
                  trial.instrument.stability.value() *
                      moves(static_cast<double>(i) / (count - 1)) +
                  part.u_ppm * normal(random));
    p.u = Ppm(part.u_ppm);
    if (trouble == Trouble::kUnderstated) {
      p.u = Ppm(part.u_ppm / 3.0);
      p.u_temperature_c = kThermometer / 3.0;
    }
    if (trouble == Trouble::kNoneStated) p.u.reset();
    trial.points.push_back(p);
  }
  if (trouble == Trouble::kOutliers) add_outliers(trial, part.u_ppm, random);
  return trial;
}

}  // namespace clockassay::testing
