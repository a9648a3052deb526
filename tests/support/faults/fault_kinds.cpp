// SPDX-License-Identifier: GPL-3.0-or-later
#include "support/faults/fault_kinds.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include "clockassay/base/quantity_text.h"

namespace clockassay::faults {

Rational source_of(const Scene& scene) {
  return *parse_frequency(scene.source);
}

void scale_one(Scene& scene, std::size_t clock, double ratio, double ppm) {
  scene.channels[clock].signal.frequency_hz =
      path_of(scene, clock).frequency_hz.to_double() * ratio *
      (1.0 + 1e-6 * ppm);
}

void scale_all(Scene& scene, double ratio, double ppm) {
  for (std::size_t i = 0; i < scene.clocks.size(); ++i) {
    scale_one(scene, i, ratio, ppm);
  }
}

void blame(Scene& scene, std::size_t clock,
           const std::vector<TrueCause>& causes) {
  ClockTruth& truth = scene.truth[clock];
  truth.causes = causes;
  const double ratio = scene.channels[clock].signal.frequency_hz *
                       scene.written_over_rate /
                       path_of(scene, clock).frequency_hz.to_double();
  truth.is_tellable = !has_other_reading(scene, clock, ratio, causes);
}

void blame_all(Scene& scene, const std::vector<TrueCause>& causes) {
  for (std::size_t i = 0; i < scene.clocks.size(); ++i) {
    blame(scene, i, causes);
  }
}

std::function<double(double)> slow_wander(Draw& draw, double size_ppm) {
  struct Wave {
    double size, hz, phase;
  };
  std::array<Wave, 3> waves;
  for (Wave& w : waves) {
    w = {1e-6 * size_ppm / 3.0, draw.octaves(10.0, 500.0),
         draw.uniform(0.0, 2.0 * std::numbers::pi)};
  }
  return [waves](double t) {
    double sum = 0.0;
    for (const Wave& w : waves) {
      sum += w.size * std::sin(2.0 * std::numbers::pi * w.hz * t + w.phase);
    }
    return sum;
  };
}

void make_noisy(Scene& scene, double rc_hz, Draw& draw) {
  // Of each period of the oscillator. Chosen: about 156 ps at 16 MHz, 0.25 %.
  const double noise = draw.octaves(3e-4, 3e-3);
  const auto wander = slow_wander(draw, draw.uniform(30.0, 300.0));
  for (std::size_t i = 0; i < scene.clocks.size(); ++i) {
    Signal& s = scene.channels[i].signal;
    s.period_noise = noise * std::sqrt(std::min(1.0, s.frequency_hz / rc_hz));
    s.course = wander;
  }
}

}  // namespace clockassay::faults
