// SPDX-License-Identifier: GPL-3.0-or-later
// The sampler cannot follow, or its rate is not what the file says, or its own
// clock is off.
#include <algorithm>
#include <array>
#include <cmath>

#include "clockassay/base/quantity_text.h"
#include "support/faults/fault_kinds.h"

namespace clockassay::faults {
namespace {

constexpr std::array kSlowRatesMhz = {8.0, 12.0, 16.0, 24.0, 25.0};

double folded(double hz, double rate_hz) {
  return std::abs(hz - std::round(hz / rate_hz) * rate_hz);
}

/// One clock, straight from its source or divided by a few.
std::optional<Scene> plain_scene(Draw& draw) {
  Wishes wishes;
  wishes.clocks = 1;
  auto scene = draw_scene(draw, wishes);
  if (!scene) return std::nullopt;
  const double mhz = draw.one_of(usual_crystals_mhz());
  const auto divider = draw.whole(1, 4);
  scene->source = megahertz_text(1e6 * mhz);
  scene->core = {};
  scene->branches[0] = {};
  if (divider > 1) scene->branches[0].push_back(factor_of(true, divider));
  scene->clocks[0].expect = path_text(*scene, 0);
  scene->channels[0].signal.duty = 0.5;
  scene->instrument.rate_hz = 1e6 * draw.one_of(kSlowRatesMhz);
  scene->instrument.reference.reset();
  scene->instrument.timebase = "20ppm";
  scene->instrument.half_width_ppm = 20.0;
  scene->instrument.timebase_ppm = draw.uniform(-20.0, 20.0);
  scene->instrument.duration_s = 1e-3;
  scene->suspects = {};
  scene->may_alias = true;
  scale_all(*scene, 1.0, scene->source_ppm);
  return scene;
}

/// Folded, it has samples enough to look like a clock, and cycles.
bool looks_like_a_clock(const Scene& scene, double hz) {
  const double seen = folded(hz, scene.instrument.rate_hz);
  return seen > 100e3 && scene.instrument.rate_hz > 4.0 * seen;
}

// The board is healthy; the sampler is too slow for it.
std::optional<Scene> expected_alias(Draw& draw) {
  auto scene = plain_scene(draw);
  if (!scene) return std::nullopt;
  const double hz = path_of(*scene, 0).frequency_hz.to_double();
  if (hz < 0.55 * scene->instrument.rate_hz ||
      !looks_like_a_clock(*scene, hz)) {
    return std::nullopt;
  }
  scene->story = "the clock is above half the sample rate";
  blame(*scene, 0, {{CauseCode::kAliased}});
  scene->truth[0].must_not_pass = true;  // nothing of it is seen
  scene->truth[0].is_tellable = false;
  return scene;
}

// The board runs from a suspect, whose alias is just the clock expected.
std::optional<Scene> suspect_alias(Draw& draw) {
  auto scene = plain_scene(draw);
  if (!scene) return std::nullopt;
  const double hz = path_of(*scene, 0).frequency_hz.to_double();
  const double rate = scene->instrument.rate_hz;
  if (hz > rate / 3.0) return std::nullopt;
  const double suspect = 1e6 * draw.one_of(usual_crystals_mhz());
  const double ratio = suspect / source_of(*scene).to_double();
  const double pin = hz * ratio;
  if (pin < 0.5 * rate || std::abs(folded(pin, rate) / hz - 1.0) > 1e-9) {
    return std::nullopt;
  }
  const char* name = "the former crystal";
  scene->suspects = {{name, megahertz_text(suspect), "50ppm"}};
  scale_all(*scene, ratio, draw.uniform(-10.0, 10.0));
  scene->story = "runs from " + megahertz_text(suspect) +
                 ", sampled so that it looks as expected";
  blame(*scene, 0, {{CauseCode::kAliased}});
  scene->truth[0].is_tellable = false;
  return scene;
}

// A prescaler that is missing takes the clock above half the sample rate.
std::optional<Scene> slip_alias(Draw& draw) {
  auto scene = plain_scene(draw);
  if (!scene) return std::nullopt;
  const auto divider = draw.one_of(std::array<std::int64_t, 4>{4, 8, 10, 16});
  const double pin = path_of(*scene, 0).frequency_hz.to_double();
  scene->branches[0].push_back(factor_of(true, divider));
  scene->clocks[0].expect = path_text(*scene, 0);
  const double rate = scene->instrument.rate_hz;
  const double expected = pin / static_cast<double>(divider);
  if (pin < 0.55 * rate || !looks_like_a_clock(*scene, pin) ||
      !stands_out(*scene, 1e6 * (folded(pin, rate) / expected - 1.0))) {
    return std::nullopt;
  }
  scale_all(*scene, static_cast<double>(divider), scene->source_ppm);
  scene->story = "divider " + std::to_string(divider) +
                 " missing: above half the sample rate";
  blame(*scene, 0, {{CauseCode::kAliased}});
  scene->truth[0].is_tellable = false;
  return scene;
}

// As if sampled at another rate than it was.
std::optional<Scene> wrong_rate(Draw& draw) {
  struct Pair {
    double really_mhz, written_mhz;
  };
  auto scene = draw_scene(draw, {});
  if (!scene || scene->instrument.reference) return std::nullopt;
  const Pair pair = draw.one_of(
      std::array{Pair{24, 25}, Pair{25, 24}, Pair{24, 25}, Pair{25, 24},
                 Pair{100, 125}, Pair{125, 100}, Pair{250, 200}, Pair{12, 16},
                 Pair{100, 50}, Pair{500, 250}, Pair{100, 96}});
  scene->instrument.rate_hz = 1e6 * pair.really_mhz;
  scene->written_over_rate = pair.written_mhz / pair.really_mhz;
  const Rational ratio = *Rational::make(std::llround(pair.written_mhz),
                                         std::llround(pair.really_mhz));
  scene->story =
      "sample rate in the file is " + ratio.to_string() + " of the real one";
  blame_all(*scene, {{CauseCode::kWrongSampleRate, ratio.to_string()}});
  return scene;
}

// Microseconds for nanoseconds, or the other way round.
std::optional<Scene> wrong_unit(Draw& draw) {
  auto scene = draw_scene(draw, {});
  if (!scene || scene->instrument.reference) return std::nullopt;
  const bool too_fast = draw.chance(0.5);
  if (too_fast && std::fmod(1e9, scene->instrument.rate_hz) != 0.0) {
    return std::nullopt;  // no whole picoseconds
  }
  scene->written_over_rate = too_fast ? 1e3 : 1e-3;
  scene->states_rate = false;
  scene->story = "the unit of time is wrong by 1000";
  blame_all(*scene,
            {{CauseCode::kWrongSampleRate, too_fast ? "1000" : "1/1000"}});
  return scene;
}

/// A second source on the board, its clock on a channel of its own.
void add_second_source(Scene& scene, Draw& draw) {
  const double hz = scene.source == "25MHz" ? 24e6 : 25e6;
  const auto divider =
      draw.one_of(std::array<std::int64_t, 4>{10, 25, 50, 100});
  SpecClock clock = scene.clocks[0];
  clock.channel = "second_clk";
  clock.expect = megahertz_text(hz) + " / " + std::to_string(divider);
  scene.clocks.push_back(clock);
  DrivenChannel driven = scene.channels[0];
  driven.name = clock.channel;
  driven.signal.frequency_hz =
      hz / static_cast<double>(divider) *
      (1.0 + 1e-6 * draw.uniform(-0.6, 0.6) * clock.make_ppm);
  scene.channels.push_back(driven);
  scene.truth.emplace_back();
  scene.branches.emplace_back();
}

// Unrelated clocks are off alike, because the instrument is.
std::optional<Scene> timebase_off(Draw& draw) {
  Wishes wishes;
  wishes.is_precise = true;
  auto scene = draw_scene(draw, wishes);
  if (!scene || scene->instrument.reference) return std::nullopt;
  add_second_source(*scene, draw);
  scene->instrument.timebase_ppm = draw.either_sign(80.0, 250.0);
  scene->story = "the timebase is " +
                 std::to_string(std::lround(scene->instrument.timebase_ppm)) +
                 " ppm off, " + *scene->instrument.timebase + " stated";
  for (ClockTruth& truth : scene->truth) {
    truth.causes = {{CauseCode::kTimebaseOff}};
  }
  return scene;
}

// A reference shows it.
std::optional<Scene> timebase_off_reference(Draw& draw) {
  auto scene = draw_scene(draw, {});
  if (!scene || !scene->instrument.reference) return std::nullopt;
  scene->instrument.timebase = "20ppm";
  scene->instrument.timebase_ppm = draw.either_sign(100.0, 300.0);
  scene->story = "the reference shows the timebase to be off";
  for (ClockTruth& truth : scene->truth) {
    truth.causes = {{CauseCode::kTimebaseOff}};
    truth.is_tellable = false;  // from a wrong reference
  }
  return scene;
}

}  // namespace

std::vector<FaultKind> sampling_kinds() {
  return {
      {"alias_of_expected", expected_alias},
      {"alias_of_suspect", suspect_alias},
      {"alias_of_slip", slip_alias},
      {"wrong_sample_rate", wrong_rate},
      {"wrong_unit", wrong_unit},
      {"timebase_off", timebase_off},
      {"timebase_off_reference", timebase_off_reference},
  };
}

}  // namespace clockassay::faults
