// SPDX-License-Identifier: GPL-3.0-or-later
// What comes out of the pin is no clock, not always, or another one.
#include <algorithm>
#include <array>
#include <cmath>
#include <utility>

#include "clockassay/base/quantity_text.h"
#include "support/faults/fault_kinds.h"

namespace clockassay::faults {
namespace {

std::optional<Scene> stopped(Draw& draw) {
  auto scene = draw_scene(draw, {});
  if (!scene) return std::nullopt;
  const double at = draw.uniform(0.2, 0.8) * scene->instrument.duration_s;
  for (std::size_t i = 0; i < scene->clocks.size(); ++i) {
    scene->channels[i].signal.stops_at_s = at;
    scene->truth[i].causes = {{CauseCode::kSourceStopped}};
    scene->truth[i].must_not_pass = true;
  }
  scene->story = "the source stops";
  return scene;
}

// Not set up as an output, or nothing to put out: nobody can tell.
std::optional<Scene> constant_pin(Draw& draw) {
  auto scene = draw_scene(draw, {});
  if (!scene) return std::nullopt;
  scene->channels[0].signal.frequency_hz = 0.0;
  scene->truth[0].causes = {{CauseCode::kPinNotDriven},
                            {CauseCode::kSourceStopped}};
  scene->truth[0].must_not_pass = true;
  scene->truth[0].is_tellable = false;
  scene->story = "the pin is constant";
  return scene;
}

std::optional<Scene> swapped(Draw& draw) {
  Wishes wishes;
  wishes.clocks = 2;
  auto scene = draw_scene(draw, wishes);
  if (!scene) return std::nullopt;
  std::swap(scene->channels[0].signal, scene->channels[1].signal);
  const double ratio = path_of(*scene, 0).frequency_hz.to_double() /
                       path_of(*scene, 1).frequency_hz.to_double();
  if (!stands_out(*scene, 1e6 * (ratio - 1.0))) return std::nullopt;
  scene->story = "two channels swapped";
  blame_all(*scene, {{CauseCode::kOtherChannel}});
  return scene;
}

// It is in the file, on a channel nobody asks for. Only the channels asked for
// are read, so that a pin not driven is right as well.
std::optional<Scene> misnamed(Draw& draw) {
  Wishes wishes;
  wishes.clocks = 1;
  auto scene = draw_scene(draw, wishes);
  if (!scene) return std::nullopt;
  DrivenChannel other = scene->channels[0];
  other.name = "D7";
  scene->channels[0].signal.frequency_hz = 0.0;
  scene->channels.push_back(other);
  scene->truth[0].causes = {{CauseCode::kOtherChannel},
                            {CauseCode::kPinNotDriven}};
  scene->truth[0].must_not_pass = true;
  scene->truth[0].is_tellable = false;
  scene->story = "the clock is on another channel";
  return scene;
}

// On for some cycles, off for as many.
std::optional<Scene> gated(Draw& draw) {
  Wishes wishes;
  wishes.clocks = 1;
  auto scene = draw_scene(draw, wishes);
  if (!scene) return std::nullopt;
  const auto burst = draw.whole(8, 64);
  Signal& s = scene->channels[0].signal;
  if (s.frequency_hz * scene->instrument.duration_s <
      4.0 * static_cast<double>(burst)) {
    return std::nullopt;
  }
  s.passes = [burst](std::int64_t k) { return k / burst % 2 == 0; };
  scene->story = "gated, " + std::to_string(burst) + " cycles on and off";
  scene->truth[0].causes = {{CauseCode::kSourceStopped},
                            {CauseCode::kEdgesMiscounted},
                            {CauseCode::kPulsesSwallowed}};
  scene->truth[0].must_not_pass = true;
  scene->truth[0].is_tellable = false;
  return scene;
}

// One pulse in so many does not come out, as from a counter that is slowed down
// by dropping pulses.
std::optional<Scene> swallowed(Draw& draw) {
  Wishes wishes;
  wishes.clocks = 1;
  auto scene = draw_scene(draw, wishes);
  if (!scene) return std::nullopt;
  const auto every = std::llround(draw.octaves(6.0, 4096.0));
  Signal& s = scene->channels[0].signal;
  if (s.frequency_hz * scene->instrument.duration_s <
      5.0 * static_cast<double>(every)) {
    return std::nullopt;
  }
  s.passes = [every](std::int64_t k) { return k % every != every / 2; };
  scene->story = "one pulse in " + std::to_string(every) + " swallowed";
  scene->truth[0].causes = {{CauseCode::kPulsesSwallowed}};
  scene->truth[0].must_not_pass = true;
  return scene;
}

// Every second pulse: half the frequency, and half the duty.
std::optional<Scene> every_second_pulse(Draw& draw) {
  Wishes wishes;
  wishes.clocks = 1;
  auto scene = draw_scene(draw, wishes);
  if (!scene) return std::nullopt;
  Signal& s = scene->channels[0].signal;
  s.frequency_hz *= 0.5;
  s.duty *= 0.5;
  scene->story = "every second pulse is gated";
  blame(*scene, 0,
        {{CauseCode::kPathHalved, "1/2"},
         {CauseCode::kFactorTwice, "1/2"},
         {CauseCode::kEdgesMiscounted}});
  return scene;
}

// A timer that counts n and n + 1 in turns.
std::optional<Scene> alternating(Draw& draw) {
  Wishes wishes;
  wishes.clocks = 1;
  wishes.is_slow = true;
  auto scene = draw_scene(draw, wishes);
  if (!scene) return std::nullopt;
  const std::vector<PathFactor>& branch = scene->branches[0];
  const auto period = std::find_if(
      branch.begin(), branch.end(),
      [](const PathFactor& f) { return f.value >= Rational(100); });
  if (period == branch.end()) return std::nullopt;
  const double n = period->value.to_double();
  Signal& s = scene->channels[0].signal;
  const double step = scene->instrument.rate_hz / s.frequency_hz / n;
  const double ratio = 2.0 * n / (2.0 * n + 1.0);
  if (n > 1000.0 || step < 2.0 || !stands_out(*scene, 1e6 * (ratio - 1.0))) {
    return std::nullopt;
  }
  s.frequency_hz *= ratio;
  s.lengths = {ratio, ratio * (n + 1.0) / n};
  scene->story = "periods alternate between n and n + 1";
  scene->truth[0].causes = {{CauseCode::kOffByOne},
                            {CauseCode::kEdgesMiscounted}};
  scene->truth[0].is_tellable = false;
  return scene;
}

}  // namespace

std::vector<FaultKind> pin_kinds() {
  return {
      {"clock_stops", stopped},
      {"constant_pin", constant_pin},
      {"channels_swapped", swapped},
      {"channel_misnamed", misnamed},
      {"gated_bursts", gated},
      {"swallowed", swallowed},
      {"every_second_pulse", every_second_pulse},
      {"alternating_periods", alternating},
  };
}

namespace {

std::optional<Scene> healthy(Draw& draw) {
  auto scene = draw_scene(draw, {});
  if (scene) scene->story = "healthy";
  return scene;
}

// Runs from the RC oscillator first, as after a reset.
std::optional<Scene> starting_up(Draw& draw, bool in_time) {
  auto scene = draw_scene(draw, {});
  if (!scene) return std::nullopt;
  const double duration = scene->instrument.duration_s;
  if (duration < 10e-3) return std::nullopt;
  const double settled =
      (in_time ? draw.uniform(0.5, 2.0) : draw.uniform(4.0, 6.0)) * 1e-3;
  const double rc = draw.uniform(0.3, 0.8);
  for (std::size_t i = 0; i < scene->clocks.size(); ++i) {
    scene->channels[i].signal.course = [=](double t) {
      return t < settled ? rc - 1.0 : 0.0;
    };
    scene->clocks[i].settle_within = "3ms";
    scene->truth[i].must_not_pass = !in_time;
  }
  scene->counts_from_s = settled;
  scene->story = "another source until " + std::to_string(settled) + " s";
  return scene;
}

}  // namespace

std::vector<FaultKind> healthy_kinds() {
  return {
      {"healthy", healthy},
      {"starts_in_time", [](Draw& d) { return starting_up(d, true); }},
      {"starts_late", [](Draw& d) { return starting_up(d, false); }},
  };
}

}  // namespace clockassay::faults
