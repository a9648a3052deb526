// SPDX-License-Identifier: GPL-3.0-or-later
// A healthy board, whose capture lost something on its way or got something.
#include <algorithm>
#include <cmath>

#include "support/faults/fault_kinds.h"

namespace clockassay::faults {
namespace {

constexpr double kMostLost = 0.02;  // of the capture, each time

// Blocks of the capture, all channels at once. A reference would be refused
// with the rest.
std::optional<Scene> lost_samples(Draw& draw, bool closes_up) {
  auto scene = draw_scene(draw, {});
  if (!scene || scene->instrument.reference) return std::nullopt;
  const auto count = draw.whole(2, 12);
  scene->damage = [=](std::vector<SampledChannel>& channels, std::int64_t& last,
                      Draw& d) {
    for (std::int64_t i = 0; i < count; ++i) {
      const auto length =
          std::max<std::int64_t>(64, std::llround(d.octaves(0.0005, kMostLost) *
                                                  static_cast<double>(last)));
      const auto from = d.whole(1, last - length - 1);
      for (SampledChannel& c : channels) {
        closes_up ? lose_samples(c, from, from + length)
                  : hold_samples(c, from, from + length);
      }
      if (closes_up) last -= length;
    }
  };
  scene->story = std::to_string(count) + " blocks of samples lost";
  for (ClockTruth& truth : scene->truth) {
    truth.causes = {{CauseCode::kSamplesLost}};
    if (!closes_up) truth.causes.push_back({CauseCode::kEdgesMiscounted});
  }
  return scene;
}

std::optional<Scene> glitches(Draw& draw) {
  auto scene = draw_scene(draw, {});
  if (!scene) return std::nullopt;
  const double each = draw.octaves(1e-3, 0.1);  // in that share of the cycles
  scene->damage = [=](std::vector<SampledChannel>& channels, std::int64_t& last,
                      Draw& d) {
    SampledChannel& c = channels.front();
    const auto cycles = static_cast<double>(c.change.size()) / 2.0;
    const auto count = std::llround(std::ceil(each * cycles));
    for (std::int64_t i = 0; i < count; ++i) {
      add_glitch(c, d.whole(2, last - 4), d.whole(1, 2));
    }
  };
  scene->story = "glitches in " + std::to_string(each) + " of the cycles";
  scene->truth[0].causes = {{CauseCode::kEdgesMiscounted}};
  return scene;
}

std::optional<Scene> missed_pulses(Draw& draw) {
  auto scene = draw_scene(draw, {});
  if (!scene) return std::nullopt;
  const double each = draw.octaves(1e-3, 0.1);
  scene->damage = [=](std::vector<SampledChannel>& channels, std::int64_t&,
                      Draw& d) {
    SampledChannel& c = channels.front();
    const auto cycles = static_cast<double>(c.change.size()) / 2.0;
    const auto count = std::llround(std::ceil(each * cycles));
    for (std::int64_t i = 0; i < count; ++i) {
      const auto pulses = static_cast<std::int64_t>(c.change.size() / 2);
      miss_pulse(c, static_cast<std::size_t>(d.whole(1, pulses - 2)));
    }
  };
  scene->story = "pulses missed in " + std::to_string(each) + " of the cycles";
  scene->truth[0].causes = {{CauseCode::kEdgesMiscounted},
                            {CauseCode::kSamplesLost}};
  return scene;
}

// Rising edges only, each written as a change: half the frequency.
std::optional<Scene> one_polarity(Draw& draw) {
  auto scene = draw_scene(draw, {});
  if (!scene) return std::nullopt;
  scene->damage = [](std::vector<SampledChannel>& channels, std::int64_t&,
                     Draw&) {
    for (SampledChannel& c : channels) {
      if (c.name != "ref") keep_rises(c);
    }
  };
  scene->story = "one polarity exported";
  for (ClockTruth& truth : scene->truth) {
    truth.causes = {{CauseCode::kEdgesMiscounted}};
    truth.is_tellable = false;  // from a toggle
  }
  return scene;
}

}  // namespace

std::vector<FaultKind> damage_kinds() {
  return {
      {"samples_lost", [](Draw& d) { return lost_samples(d, true); }},
      {"samples_held", [](Draw& d) { return lost_samples(d, false); }},
      {"glitches", glitches},
      {"missed_pulses", missed_pulses},
      {"one_polarity", one_polarity},
  };
}

}  // namespace clockassay::faults
