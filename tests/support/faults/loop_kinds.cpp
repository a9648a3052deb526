// SPDX-License-Identifier: GPL-3.0-or-later
// A PLL that does something else than it is set for.
#include <algorithm>
#include <array>
#include <cmath>

#include "support/faults/fault_kinds.h"

namespace clockassay::faults {
namespace {

std::optional<Scene> with_loop(Draw& draw, double least_hz) {
  Wishes wishes;
  wishes.has_loop = true;
  wishes.least_hz = least_hz;
  return draw_scene(draw, wishes);
}

void shape_all(Scene& scene, const std::function<double(double)>& course,
               double period_noise) {
  for (DrivenChannel& c : scene.channels) {
    c.signal.course = course;
    c.signal.period_noise = period_noise;
  }
}

// Where it happens to run, by its own noise.
std::optional<Scene> free_running(Draw& draw) {
  auto scene = with_loop(draw, 0.0);
  if (!scene) return std::nullopt;
  scale_all(*scene, 1.0, 1e4 * draw.either_sign(2.0, 30.0));
  shape_all(*scene, slow_wander(draw, draw.uniform(500.0, 3000.0)),
            draw.octaves(1e-4, 1e-3));
  scene->story = "the PLL never locked";
  blame_all(*scene, {{CauseCode::kNotLocked}});
  return scene;
}

// Still on its way when the capture ends.
std::optional<Scene> slewing(Draw& draw) {
  auto scene = with_loop(draw, 0.0);
  if (!scene) return std::nullopt;
  scale_all(*scene, 1.0, 1e4 * draw.either_sign(1.0, 15.0));
  const double duration = scene->instrument.duration_s;
  const double slew = draw.either_sign(2e-3, 2e-2);
  shape_all(
      *scene, [=](double t) { return slew * (t / duration - 0.5); },
      draw.octaves(3e-5, 3e-4));
  scene->story = "the PLL slews";
  blame_all(*scene, {{CauseCode::kNotLocked}});
  return scene;
}

// A triangle between low and high, of 30 to 33 kHz.
std::optional<Scene> spread_spectrum(Draw& draw, double low, double high) {
  auto scene = with_loop(draw, 300e3);
  if (!scene) return std::nullopt;
  const double rate = draw.uniform(30e3, 33e3);
  const double start = draw.uniform(0.0, 1.0);
  const double mean = 0.5 * (low + high);
  scale_all(*scene, 1.0 + mean, scene->source_ppm);
  shape_all(
      *scene,
      [=](double t) {
        const double phase = rate * t + start;
        const double triangle =
            4.0 * std::abs(phase - std::floor(phase) - 0.5) - 1.0;
        return 0.5 * (high - low) * triangle;
      },
      0.0);
  scene->story = "spread spectrum left on";
  blame_all(*scene, {{CauseCode::kSpreadSpectrum}});
  // Half a period of the triangle moves the edges by this, mean to peak to
  // mean; who sees less of it sees but the mean.
  const double moved_s = 0.5 * (high - low) / (4.0 * rate);
  for (ClockTruth& truth : scene->truth) {
    truth.is_tellable = scene->instrument.rate_hz * moved_s > 1.0;
  }
  return scene;
}

}  // namespace

std::vector<FaultKind> loop_kinds() {
  return {
      {"loop_free_running", free_running},
      {"loop_slewing", slewing},
      {"spread_down", [](Draw& d) { return spread_spectrum(d, -5e-3, 0.0); }},
      {"spread_centre",
       [](Draw& d) { return spread_spectrum(d, -2.5e-3, 2.5e-3); }},
  };
}

}  // namespace clockassay::faults
