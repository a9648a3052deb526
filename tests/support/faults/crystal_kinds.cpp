// SPDX-License-Identifier: GPL-3.0-or-later
// The right crystal, but not as it should be.
#include <array>
#include <cmath>

#include "support/faults/fault_kinds.h"

namespace clockassay::faults {
namespace {

/// An AT-cut part [pF], of usual sizes.
struct Part {
  double c1, c0, load;
};

Part draw_part(Draw& draw) {
  Part part;
  part.c1 = 1e-3 * draw.octaves(4.0, 25.0);
  part.c0 = part.c1 * draw.uniform(180.0, 300.0);
  part.load = draw.one_of(std::array{8.0, 9.0, 10.0, 12.0, 18.0, 20.0});
  return part;
}

/// Pull by another load than the part is made for [ppm]; exact, from
/// fL = fs (1 + C1 / (2 (C0 + CL))) at both loads.
double pull_ppm(const Part& part, double load) {
  return 1e6 * 0.5 * part.c1 *
         (1.0 / (part.c0 + load) - 1.0 / (part.c0 + part.load));
}

std::optional<Scene> crystal_off(Draw& draw, double ppm, const char* story) {
  Wishes wishes;
  wishes.is_precise = true;
  auto scene = draw_scene(draw, wishes);
  if (!scene) return std::nullopt;
  const double error = scene->source_ppm + ppm;
  if (!stands_out(*scene, error)) return std::nullopt;
  scale_all(*scene, 1.0, error);
  scene->story =
      std::string(story) + ": " + std::to_string(std::lround(error)) + " ppm";
  blame_all(*scene, {{CauseCode::kCrystalOff}});
  return scene;
}

// Only what the pads and traces have is left.
std::optional<Scene> no_load(Draw& draw) {
  const Part part = draw_part(draw);
  return crystal_off(draw, pull_ppm(part, draw.uniform(1.5, 4.0)),
                     "both load capacitors missing");
}

std::optional<Scene> half_load(Draw& draw) {
  const Part part = draw_part(draw);
  const double pin = draw.uniform(2.0, 5.0);  // to ground, each leg
  const double fitted = 2.0 * part.load - pin;
  const double load = (fitted + pin) * pin / (fitted + 2.0 * pin);
  return crystal_off(draw, pull_ppm(part, load), "one load capacitor missing");
}

std::optional<Scene> heavy_load(Draw& draw) {
  const Part part = draw_part(draw);
  return crystal_off(draw, pull_ppm(part, part.load * draw.uniform(1.3, 2.5)),
                     "too much load");
}

// A part calibrated for series resonance at its load, or the reverse.
std::optional<Scene> series_for_parallel(Draw& draw) {
  const Part part = draw_part(draw);
  const double offset = 1e6 * part.c1 / (2.0 * (part.c0 + part.load));
  return crystal_off(draw, draw.chance(0.5) ? offset : -offset,
                     "series and parallel resonance mixed up");
}

std::optional<Scene> aged(Draw& draw) {
  return crystal_off(draw, draw.either_sign(30.0, 150.0), "the crystal is off");
}

std::optional<Scene> all_outputs_off(Draw& draw) {
  auto scene = crystal_off(draw, draw.either_sign(60.0, 150.0),
                           "the source is off, so is every output");
  if (!scene || scene->clocks.size() < 2) return std::nullopt;
  return scene;
}

// Third-overtone parts are made from about 24 MHz on. How far the fundamental
// is from a third is not given by the part; from memory about 0.1 %.
std::optional<Scene> overtone(Draw& draw, bool on_fundamental) {
  auto scene = draw_scene(draw, {});
  if (!scene) return std::nullopt;
  const double mhz = 1e-6 * source_of(*scene).to_double();
  if (on_fundamental ? mhz < 24.0 : mhz > 16.0) return std::nullopt;
  const double exact = on_fundamental ? 1.0 / 3.0 : 3.0;
  scale_all(*scene, exact, draw.either_sign(150.0, 1500.0));
  scene->story = on_fundamental ? "an overtone crystal on its fundamental"
                                : "a fundamental crystal on its overtone";
  blame_all(*scene, {{CauseCode::kOvertone}});
  return scene;
}

// Within what the part promises, beyond what hangs on the clock asks for.
std::optional<Scene> part_too_loose(Draw& draw) {
  Wishes wishes;
  wishes.is_precise = true;
  auto scene = draw_scene(draw, wishes);
  if (!scene) return std::nullopt;
  constexpr double kAsked = 50.0;  // rgmii-tolerance
  const double error = draw.either_sign(62.0, 88.0);
  scale_all(*scene, 1.0, error);
  for (std::size_t i = 0; i < scene->clocks.size(); ++i) {
    scene->clocks[i].make_ppm = 100.0;
    scene->clocks[i].tolerance = "\"100ppm\"";
    scene->clocks[i].requirement = "rgmii-tolerance";
    scene->truth[i].limit_ppm = kAsked;
  }
  scene->story = "a part of 100 ppm where 50 ppm are asked for";
  blame_all(*scene, {{CauseCode::kPartTooLoose}});
  for (ClockTruth& truth : scene->truth) truth.is_tellable = true;
  return scene;
}

}  // namespace

std::vector<FaultKind> crystal_kinds() {
  return {
      {"load_both_missing", no_load},
      {"load_one_missing", half_load},
      {"load_heavy", heavy_load},
      {"load_series_parallel", series_for_parallel},
      {"crystal_aged", aged},
      {"all_outputs_off", all_outputs_off},
      {"overtone_on_fundamental", [](Draw& d) { return overtone(d, true); }},
      {"fundamental_on_overtone", [](Draw& d) { return overtone(d, false); }},
      {"part_too_loose", part_too_loose},
  };
}

}  // namespace clockassay::faults
