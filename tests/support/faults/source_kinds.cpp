// SPDX-License-Identifier: GPL-3.0-or-later
// The board runs from another source than its specification says.
#include <array>
#include <cmath>

#include "clockassay/base/quantity_text.h"
#include "support/faults/fault_kinds.h"

namespace clockassay::faults {
namespace {

constexpr std::array kRcMhz = {4.0, 8.0, 12.0, 16.0, 24.0, 48.0};
constexpr double kCrystalPpm = 50.0;  // what another crystal may be off

std::string ratio_text(const Rational& over, const Rational& under) {
  return divide(over, under)->to_string();
}

bool is_listed(const Scene& scene, const std::string& frequency) {
  for (const SuspectText& s : scene.suspects) {
    if (s.frequency == frequency) return true;
  }
  return false;
}

std::optional<Scene> other_crystal(Draw& draw, bool listed) {
  auto scene = draw_scene(draw, {});
  if (!scene) return std::nullopt;
  const double hz = 1e6 * draw.one_of(usual_crystals_mhz());
  const std::string text = megahertz_text(hz);
  const double ratio = hz / source_of(*scene).to_double();
  const bool fits = text != scene->source && ratio > 0.2 && ratio < 5.0;
  if (!fits || is_listed(*scene, text)) return std::nullopt;
  scale_all(*scene, ratio, draw.uniform(-kCrystalPpm, kCrystalPpm));
  const std::string exact =
      ratio_text(*parse_frequency(text), source_of(*scene));
  scene->story = "runs from a crystal of " + text;
  if (listed) {
    const auto* name = draw.one_of(
        std::array{"the crystal of the last revision", "the second crystal",
                   "the crystal in the other bag"});
    scene->suspects.push_back({name, text, "50ppm"});
    blame_all(*scene, {{CauseCode::kOtherSource, exact, name}});
  } else {
    blame_all(*scene, {{CauseCode::kOtherCrystal, exact}});
  }
  return scene;
}

std::optional<Scene> rc_oscillator(Draw& draw, bool listed) {
  auto scene = draw_scene(draw, {});
  if (!scene) return std::nullopt;
  const double hz = 1e6 * draw.one_of(kRcMhz);
  const auto percent = draw.whole(1, 5);
  const double ppm = draw.uniform(-1e4, 1e4) * static_cast<double>(percent);
  const double ratio = hz / source_of(*scene).to_double();
  if (is_listed(*scene, megahertz_text(hz)) || ratio < 0.1 || ratio > 5.0 ||
      !stands_out(*scene, 1e6 * (ratio * (1.0 + 1e-6 * ppm) - 1.0))) {
    return std::nullopt;
  }
  scale_all(*scene, ratio, ppm);
  make_noisy(*scene, hz, draw);
  scene->story = "runs from an RC oscillator of " + megahertz_text(hz) + ", " +
                 std::to_string(std::lround(ppm)) + " ppm off";
  if (listed) {
    const char* name = "the RC oscillator of the MCU";
    scene->suspects.push_back(
        {name, megahertz_text(hz), std::to_string(percent) + "%"});
    blame_all(*scene, {{CauseCode::kOtherSource, "", name}});
  } else {
    blame_all(*scene, {{CauseCode::kRcOscillator}});
  }
  return scene;
}

// Of the value of the crystal it stands for, as steady as one.
std::optional<Scene> ceramic_resonator(Draw& draw) {
  auto scene = draw_scene(draw, {});
  if (!scene) return std::nullopt;
  const double ppm = draw.either_sign(1000.0, 8000.0);
  if (!stands_out(*scene, ppm)) return std::nullopt;
  scale_all(*scene, 1.0, ppm);
  const auto wander = slow_wander(draw, 2.0);
  for (DrivenChannel& c : scene->channels) c.signal.course = wander;
  scene->story = "a ceramic resonator instead of the crystal";
  blame_all(*scene, {{CauseCode::kRcOscillator}});
  return scene;
}

// Whole multiples of 32.768 kHz, whose crystal is 20 ppm off at most.
std::optional<Scene> loop_on_watch_crystal(Draw& draw) {
  auto scene = draw_scene(draw, {});
  if (!scene) return std::nullopt;
  constexpr double kWatch = 32768.0;
  const double source = source_of(*scene).to_double();
  const double ratio = std::round(source / kWatch) * kWatch / source;
  if (!stands_out(*scene, 1e6 * (ratio - 1.0))) return std::nullopt;
  scale_all(*scene, ratio, draw.uniform(-20.0, 20.0));
  const auto wander = slow_wander(draw, draw.uniform(1.0, 20.0));
  for (DrivenChannel& c : scene->channels) c.signal.course = wander;
  scene->story = "the source is a loop on a watch crystal";
  blame_all(*scene, {{CauseCode::kLoopOnWatchCrystal}});
  return scene;
}

std::optional<Scene> mixed_up(Draw& draw, std::int64_t num, std::int64_t den) {
  auto scene = draw_scene(draw, {});
  if (!scene) return std::nullopt;
  const Rational ratio =
      draw.chance(0.5) ? *Rational::make(num, den) : *Rational::make(den, num);
  if (!stands_out(*scene, 1e6 * (ratio.to_double() - 1.0))) return std::nullopt;
  scale_all(*scene, ratio.to_double(), scene->source_ppm);
  scene->story = "all is " + ratio.to_string() + " of what it should be";
  blame_all(*scene, {{CauseCode::kNumberMixedUp, ratio.to_string()}});
  return scene;
}

// A crystal made for baud rates where one of whole MHz is expected, or the
// other way round: a usual crystal nobody named and numbers mixed up, both.
std::optional<Scene> baud_crystal(Draw& draw) {
  struct Pair {
    double baud, plain;
  };
  const Pair pair = draw.one_of(
      std::array{Pair{12.288, 12.0}, Pair{11.0592, 12.0}, Pair{14.7456, 16.0},
                 Pair{7.3728, 8.0}, Pair{24.576, 24.0}, Pair{18.432, 20.0}});
  const bool turned = draw.chance(0.5);
  const double hz = 1e6 * (turned ? pair.plain : pair.baud);
  const double expected = 1e6 * (turned ? pair.baud : pair.plain);
  auto scene = draw_scene(draw, {});
  if (!scene || scene->source != megahertz_text(expected) ||
      is_listed(*scene, megahertz_text(hz))) {
    return std::nullopt;
  }
  scale_all(*scene, hz / expected, draw.uniform(-kCrystalPpm, kCrystalPpm));
  const std::string exact =
      ratio_text(*parse_frequency(megahertz_text(hz)), source_of(*scene));
  scene->story = "runs from a crystal of " + megahertz_text(hz);
  blame_all(*scene, {{CauseCode::kOtherCrystal, exact},
                     {CauseCode::kNumberMixedUp, exact}});
  return scene;
}

}  // namespace

std::vector<FaultKind> source_kinds() {
  return {
      {"crystal_listed", [](Draw& d) { return other_crystal(d, true); }},
      {"crystal_unlisted", [](Draw& d) { return other_crystal(d, false); }},
      {"rc_listed", [](Draw& d) { return rc_oscillator(d, true); }},
      {"rc_unlisted", [](Draw& d) { return rc_oscillator(d, false); }},
      {"ceramic_unlisted", ceramic_resonator},
      {"watch_loop", loop_on_watch_crystal},
      {"number_1000_1024", [](Draw& d) { return mixed_up(d, 125, 128); }},
      {"number_1000_1001", [](Draw& d) { return mixed_up(d, 1000, 1001); }},
      {"audio_family", [](Draw& d) { return mixed_up(d, 147, 160); }},
      {"baud_crystal", baud_crystal},
  };
}

}  // namespace clockassay::faults
