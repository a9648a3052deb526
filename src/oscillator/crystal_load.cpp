// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/oscillator/crystal_load.h"

#include <cmath>

namespace clockassay {
namespace {

constexpr double kPpm = 1e6;

// (fL/fs)^2 - 1
double excess(const MotionalCrystal& crystal, Farads load) {
  return crystal.c1 / (crystal.c0 + load);
}

}  // namespace

double load_resonance(const MotionalCrystal& crystal, Farads load) {
  return std::sqrt(1.0 + excess(crystal, load));
}

Ppm load_pull(const MotionalCrystal& crystal, Farads from, Farads to) {
  // y_to/y_from - 1 = (y_to^2 - y_from^2) / (y_from (y_to + y_from)), without
  // the difference of two numbers that are nearly one.
  const double y_from = load_resonance(crystal, from);
  const double y_to = load_resonance(crystal, to);
  const double difference =
      excess(crystal, to) * ((from - to) / (crystal.c0 + from));
  return Ppm(difference / (y_from * (y_to + y_from)) * kPpm);
}

PullLimits load_pull_limits(const MotionalCrystal& crystal, Farads from) {
  const double x = excess(crystal, from);
  const double y = std::sqrt(1.0 + x);
  return {Ppm(-x / (y * (1.0 + y)) * kPpm),
          load_pull(crystal, from, Farads(0.0))};
}

std::optional<Farads> load_after_pull(const MotionalCrystal& crystal,
                                      Farads from, Ppm pull) {
  const double change = pull.value() / kPpm;
  // (1 + change)^2 (1 + x_from) = 1 + x
  const double x = (1.0 + change) * (1.0 + change) * excess(crystal, from) +
                   change * (2.0 + change);
  if (!(x > 0.0)) return std::nullopt;
  const Farads load((crystal.c1.value() / x) - crystal.c0.value());
  if (!(load.value() >= 0.0)) return std::nullopt;
  return load;
}

double load_sensitivity_ppm_per_f(const MotionalCrystal& crystal, Farads load) {
  const double sum = (crystal.c0 + load).value();
  return -0.5 * crystal.c1.value() / (sum * sum) * kPpm;
}

}  // namespace clockassay
