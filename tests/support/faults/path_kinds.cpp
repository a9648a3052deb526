// SPDX-License-Identifier: GPL-3.0-or-later
// The source is right; what is set between it and the pin is not.
#include <algorithm>
#include <array>
#include <cmath>

#include "clockassay/base/quantity_text.h"
#include "support/faults/fault_kinds.h"

namespace clockassay::faults {
namespace {

/// A factor of one clock's path; those before the split are all clocks'.
struct Chosen {
  std::size_t clock = 0;
  bool in_core = false;
  PathFactor factor;
};

template <class Suits>
std::optional<Chosen> choose_factor(const Scene& scene, Draw& draw,
                                    const Suits& suits) {
  std::vector<Chosen> choice;
  for (std::size_t i = 0; i < scene.clocks.size(); ++i) {
    for (const bool in_core : {true, false}) {
      for (const PathFactor& f : in_core ? scene.core : scene.branches[i]) {
        if (f.value.is_integer() && suits(f)) choice.push_back({i, in_core, f});
      }
    }
  }
  if (choice.empty()) return std::nullopt;
  return draw.one_of(choice);
}

/// The clocks that share the factor run at `ratio` of what is expected.
bool slip(Scene& scene, const Chosen& chosen, const Rational& ratio,
          const std::vector<CauseCode>& codes) {
  if (!stands_out(scene, 1e6 * (ratio.to_double() - 1.0))) return false;
  std::vector<TrueCause> causes;
  for (const CauseCode code : codes)
    causes.push_back({code, ratio.to_string()});
  for (std::size_t i = 0; i < scene.clocks.size(); ++i) {
    if (!chosen.in_core && i != chosen.clock) continue;
    scale_one(scene, i, ratio.to_double(), scene.source_ppm);
    blame(scene, i, causes);
  }
  scene.story =
      std::string(chosen.factor.divides ? "divider " : "multiplier ") +
      chosen.factor.text + (chosen.in_core ? " before" : " behind") +
      " the split: " + ratio.to_string();
  return true;
}

Rational ratio_of(const PathFactor& is, const PathFactor& was) {
  return was.divides ? *divide(was.value, is.value)
                     : *divide(is.value, was.value);
}

std::optional<Scene> off_by_one(Draw& draw, const Wishes& wishes, bool divides,
                                double least, double most, int by) {
  auto scene = draw_scene(draw, wishes);
  if (!scene) return std::nullopt;
  const auto chosen = choose_factor(*scene, draw, [&](const PathFactor& f) {
    const double n = f.value.to_double();
    return f.divides == divides && n >= least && n <= most;
  });
  if (!chosen) return std::nullopt;
  PathFactor is = chosen->factor;
  is.value = *add(is.value, by);
  if (is.value.sign() <= 0) return std::nullopt;
  std::vector<CauseCode> codes{CauseCode::kOffByOne};
  // A factor of one is one that is missing.
  if (is.value == Rational(1)) codes.push_back(CauseCode::kFactorMissing);
  return slip(*scene, *chosen, ratio_of(is, chosen->factor), codes)
             ? scene
             : std::nullopt;
}

std::optional<Scene> off_by_one_small(Draw& draw, int by) {
  return off_by_one(draw, {}, true, 2.0, 20.0, by);
}

std::optional<Scene> off_by_one_large(Draw& draw, int by) {
  Wishes wishes;
  wishes.is_precise = true;
  wishes.is_slow = true;
  return off_by_one(draw, wishes, true, 100.0, 48'000.0, by);
}

std::optional<Scene> loop_off_by_one(Draw& draw) {
  Wishes wishes;
  wishes.has_loop = true;
  return off_by_one(draw, wishes, false, 2.0, 200.0, draw.chance(0.5) ? 1 : -1);
}

std::optional<Scene> prescaler_and_period(Draw& draw) {
  Wishes wishes;
  wishes.is_slow = true;
  auto scene = draw_scene(draw, wishes);
  if (!scene) return std::nullopt;
  const auto i = static_cast<std::size_t>(
      draw.whole(0, static_cast<std::int64_t>(scene->clocks.size()) - 1));
  if (scene->branches[i].size() < 2) return std::nullopt;
  const Rational p = scene->branches[i][0].value;
  const Rational n = scene->branches[i][1].value;
  const Rational ratio =
      *multiply(*divide(p, *add(p, 1)), *divide(n, *add(n, 1)));
  const Chosen both{i, false, scene->branches[i][0]};
  return slip(*scene, both, ratio, {CauseCode::kOffByOne}) ? scene
                                                           : std::nullopt;
}

std::optional<Scene> factor_missing(Draw& draw) {
  auto scene = draw_scene(draw, {});
  if (!scene) return std::nullopt;
  const auto chosen =
      choose_factor(*scene, draw, [](const PathFactor&) { return true; });
  if (!chosen) return std::nullopt;
  PathFactor is = chosen->factor;
  is.value = 1;
  return slip(*scene, *chosen, ratio_of(is, chosen->factor),
              {CauseCode::kFactorMissing})
             ? scene
             : std::nullopt;
}

std::optional<Scene> factor_twice(Draw& draw) {
  auto scene = draw_scene(draw, {});
  if (!scene) return std::nullopt;
  const auto chosen =
      choose_factor(*scene, draw, [](const PathFactor&) { return true; });
  if (!chosen) return std::nullopt;
  PathFactor is = chosen->factor;
  is.value = *multiply(is.value, is.value);
  return slip(*scene, *chosen, ratio_of(is, chosen->factor),
              {CauseCode::kFactorTwice})
             ? scene
             : std::nullopt;
}

// One output by a power of two: a toggle taken for a pulse and the other way
// round, a prescaler. 2 and 1/2 may be any factor of two on the path.
std::optional<Scene> by_two(Draw& draw, int exponent) {
  auto scene = draw_scene(draw, {});
  if (!scene) return std::nullopt;
  const auto i = static_cast<std::size_t>(
      draw.whole(0, static_cast<std::int64_t>(scene->clocks.size()) - 1));
  const Int128 power = Int128{1} << std::abs(exponent);
  const Rational ratio =
      exponent > 0 ? *Rational::make(power, 1) : *Rational::make(1, power);
  if (exponent < 0) scene->channels[i].signal.duty = 0.5;
  const std::vector<CauseCode> codes =
      exponent > 0
          ? std::vector{CauseCode::kPathDoubled, CauseCode::kFactorMissing,
                        CauseCode::kPrescaler, CauseCode::kOtherFactor}
          : std::vector{CauseCode::kPathHalved, CauseCode::kFactorTwice,
                        CauseCode::kPrescaler, CauseCode::kOtherFactor};
  const Chosen whole_path{i, false, factor_of(true, 1)};
  if (!slip(*scene, whole_path, ratio, codes)) return std::nullopt;
  scene->story = scene->clocks[i].channel + " at " + ratio.to_string() +
                 " of what it should be";
  return scene;
}

std::optional<Scene> power_of_two(Draw& draw) {
  return by_two(draw, draw.one_of(std::array{-4, -3, -2, 2, 3, 4}));
}

// A divider of another usual value: nothing but the exact ratio can be known.
std::optional<Scene> wrong_factor(Draw& draw) {
  auto scene = draw_scene(draw, {});
  if (!scene) return std::nullopt;
  const auto chosen = choose_factor(*scene, draw, [](const PathFactor& f) {
    return f.divides && f.value <= Rational(20);
  });
  if (!chosen) return std::nullopt;
  PathFactor is = chosen->factor;
  is.value = draw.one_of(std::array<std::int64_t, 6>{3, 5, 6, 7, 10, 12});
  const Rational gap = *subtract(is.value, chosen->factor.value);
  if (gap.sign() == 0 || gap == Rational(1) || gap == Rational(-1)) {
    return std::nullopt;
  }
  const bool slipped = slip(
      *scene, *chosen, ratio_of(is, chosen->factor),
      {CauseCode::kOffByOne, CauseCode::kFactorMissing, CauseCode::kFactorTwice,
       CauseCode::kPathDoubled, CauseCode::kPathHalved, CauseCode::kPrescaler,
       CauseCode::kOtherFactor});
  if (!slipped) return std::nullopt;
  for (ClockTruth& truth : scene->truth) truth.is_tellable = false;
  return scene;
}

std::optional<Scene> wrong_source_and_divider(Draw& draw) {
  auto scene = draw_scene(draw, {});
  if (!scene) return std::nullopt;
  const double hz = 1e6 * draw.one_of(usual_crystals_mhz());
  const std::string text = megahertz_text(hz);
  const auto chosen = choose_factor(*scene, draw, [](const PathFactor& f) {
    return f.divides && f.value <= Rational(20);
  });
  if (text == scene->source || !chosen) return std::nullopt;
  scene->suspects = {{"the crystal of the last revision", text, "50ppm"}};
  PathFactor is = chosen->factor;
  is.value = *add(is.value, draw.chance(0.5) ? 1 : -1);
  if (is.value.sign() <= 0) return std::nullopt;
  const Rational source_ratio =
      *divide(*parse_frequency(text), source_of(*scene));
  const double ppm = draw.uniform(-50.0, 50.0);
  for (std::size_t i = 0; i < scene->clocks.size(); ++i) {
    Rational ratio = source_ratio;
    TrueCause cause{CauseCode::kOtherSource};
    if (chosen->in_core || i == chosen->clock) {
      ratio = *multiply(ratio, ratio_of(is, chosen->factor));
      cause.code = CauseCode::kOtherSourceAndPath;
    }
    if (!stands_out(*scene, 1e6 * (ratio.to_double() - 1.0))) {
      return std::nullopt;
    }
    cause.ratio = ratio.to_string();
    cause.names = scene->suspects[0].name;
    scale_one(*scene, i, ratio.to_double(), ppm);
    blame(*scene, i, {cause});
  }
  scene->story = "runs from " + text + ", and " + chosen->factor.text +
                 " counted as " + is.value.to_string();
  return scene;
}

// Outputs of one source, of which one has a divider off by one behind the
// split: both that and "this output alone" are right.
std::optional<Scene> one_output_wrong(Draw& draw) {
  Wishes wishes;
  wishes.clocks = static_cast<std::size_t>(draw.whole(2, 3));
  auto scene = draw_scene(draw, wishes);
  if (!scene) return std::nullopt;
  auto chosen = choose_factor(*scene, draw,
                              [](const PathFactor& f) { return f.divides; });
  if (!chosen || chosen->in_core) return std::nullopt;
  PathFactor is = chosen->factor;
  is.value = *add(is.value, draw.chance(0.5) ? 1 : -1);
  if (is.value.sign() <= 0) return std::nullopt;
  std::vector<CauseCode> codes{CauseCode::kOffByOne};
  if (is.value == Rational(1)) codes.push_back(CauseCode::kFactorMissing);
  if (!slip(*scene, *chosen, ratio_of(is, chosen->factor), codes)) {
    return std::nullopt;
  }
  scene->truth[chosen->clock].causes.push_back({CauseCode::kOutputAlone});
  return scene;
}

}  // namespace

std::vector<FaultKind> path_kinds() {
  return {
      {"n_plus_1_small", [](Draw& d) { return off_by_one_small(d, 1); }},
      {"n_minus_1_small", [](Draw& d) { return off_by_one_small(d, -1); }},
      {"n_plus_1_large", [](Draw& d) { return off_by_one_large(d, 1); }},
      {"n_minus_1_large", [](Draw& d) { return off_by_one_large(d, -1); }},
      {"loop_off_by_one", loop_off_by_one},
      {"prescaler_and_period", prescaler_and_period},
      {"factor_missing", factor_missing},
      {"factor_twice", factor_twice},
      {"toggle_for_pulse", [](Draw& d) { return by_two(d, -1); }},
      {"pulse_for_toggle", [](Draw& d) { return by_two(d, 1); }},
      {"power_of_two", power_of_two},
      {"wrong_factor", wrong_factor},
      {"source_and_divider", wrong_source_and_divider},
      {"one_output_wrong", one_output_wrong},
  };
}

}  // namespace clockassay::faults
