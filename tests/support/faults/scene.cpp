// SPDX-License-Identifier: GPL-3.0-or-later
#include "support/faults/scene.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <string_view>
#include <utility>

#include "clockassay/base/quantity_text.h"
#include "clockassay/oscillator/path_neighbours.h"

namespace clockassay::faults {
namespace {

std::string number(double value, int decimals) {
  std::array<char, 40> text;
  std::snprintf(text.data(), text.size(), "%.*f", decimals, value);
  std::string digits = text.data();
  if (digits.find('.') == std::string::npos) return digits;
  while (digits.back() == '0') digits.pop_back();
  if (digits.back() == '.') digits.pop_back();
  return digits;
}

constexpr std::array kSampleRatesMhz = {8.0,   12.0,  16.0,  24.0,
                                        25.0,  50.0,  100.0, 125.0,
                                        200.0, 250.0, 500.0, 1000.0};
constexpr std::array kTimebasesPpm = {2.0, 5.0, 10.0, 20.0, 25.0, 30.0, 50.0};
constexpr std::array kTolerancesPpm = {10.0, 15.0, 20.0, 25.0,
                                       30.0, 50.0, 100.0};
constexpr double kAssumedTimebasePpm = 100.0;  // when nothing is stated

void draw_reference(Draw& draw, Instrument& instrument) {
  constexpr double hz = 1e6;
  const double ppm = draw.one_of(std::array{0.1, 0.5, 1.0, 2.0});
  instrument.reference =
      "ref=" + megahertz_text(hz) + "±" + number(ppm, 1) + "ppm";
  instrument.half_width_ppm = ppm;
  instrument.reference_ppm = draw.uniform(-ppm, ppm);
  instrument.timebase_ppm =
      draw.uniform(-kAssumedTimebasePpm, kAssumedTimebasePpm);
}

Instrument draw_instrument(Draw& draw, bool is_precise) {
  Instrument instrument;
  instrument.rate_hz = 1e6 * draw.one_of(kSampleRatesMhz);
  instrument.csv = draw.chance(0.5);
  instrument.duration_s = draw.octaves(1e-3, 50e-3);
  instrument.jitter_s = draw.octaves(5e-12, 500e-12);
  const double kind = draw.uniform(0.0, 1.0);
  if (kind < 0.2) {
    draw_reference(draw, instrument);
  } else if (kind < 0.4 && !is_precise) {
    instrument.half_width_ppm = kAssumedTimebasePpm;
    instrument.timebase_ppm =
        draw.uniform(-kAssumedTimebasePpm, kAssumedTimebasePpm);
  } else {
    const double ppm = is_precise ? draw.one_of(std::array{2.0, 5.0})
                                  : draw.one_of(kTimebasesPpm);
    instrument.timebase = number(ppm, 0) + "ppm";
    instrument.half_width_ppm = ppm;
    instrument.timebase_ppm = draw.uniform(-ppm, ppm);
  }
  return instrument;
}

/// A PLL, or the source as it is; false: nothing usual comes of it.
bool draw_core(Draw& draw, const Wishes& wishes, double source_hz,
               std::vector<PathFactor>& core) {
  if (!wishes.has_loop && draw.chance(0.4)) {
    if (draw.chance(0.3)) core.push_back(factor_of(true, 2));
    return true;
  }
  if (draw.chance(0.1)) {  // fractional
    const auto eighths = 2 * draw.whole(0, 3) + 1;
    PathFactor n =
        factor_of(false, *Rational::make(8 * draw.whole(8, 40) + eighths, 8));
    core.push_back(n);
  } else {
    const auto m =
        draw.whole(1, std::max<std::int64_t>(1, std::llround(source_hz / 2e6)));
    if (m > 1) core.push_back(factor_of(true, m));
    core.push_back(factor_of(false, draw.whole(8, 100)));
  }
  double vco = source_hz;
  for (const PathFactor& f : core) {
    vco *= f.divides ? 1.0 / f.value.to_double() : f.value.to_double();
  }
  const auto p = draw.one_of(std::array<std::int64_t, 4>{2, 4, 6, 8});
  core.push_back(factor_of(true, p));
  const double out = vco / static_cast<double>(p);
  return vco >= 80e6 && vco <= 400e6 && out >= 16e6 && out <= 200e6;
}

constexpr std::array<std::int64_t, 8> kPrescalers = {1,  2,  4,  8,
                                                     16, 32, 64, 128};
constexpr std::array<std::int64_t, 24> kPeriods = {
    100,  125,  200,   250,   400,   480,   500,   800,
    1000, 1200, 1600,  2000,  2400,  3000,  4800,  5000,
    6000, 8000, 10000, 12000, 16000, 20000, 24000, 48000};

/// A clock output with a prescaler, or a timer with a period.
std::vector<PathFactor> draw_branch(Draw& draw, const Wishes& wishes) {
  std::vector<PathFactor> branch;
  if (!wishes.is_slow && draw.chance(wishes.least_hz > 1e5 ? 1.0 : 0.6)) {
    const std::int64_t divider =
        draw.chance(0.7)
            ? draw.one_of(kPrescalers)
            : draw.one_of(std::array<std::int64_t, 6>{3, 5, 6, 10, 12, 20});
    if (divider > 1) branch.push_back(factor_of(true, divider));
    if (draw.chance(0.3)) branch.push_back(factor_of(true, 2));
    return branch;
  }
  if (draw.chance(0.5)) {
    branch.push_back(factor_of(
        true, draw.one_of(std::array<std::int64_t, 6>{2, 4, 8, 10, 16, 48})));
  }
  const std::int64_t period = draw.chance(0.6)
                                  ? draw.one_of(kPeriods)
                                  : std::llround(draw.octaves(100.0, 48000.0));
  branch.push_back(factor_of(true, period));
  if (draw.chance(0.25)) branch.push_back(factor_of(true, 2));
  return branch;
}

void draw_tolerance(Draw& draw, const Wishes& wishes, SpecClock& clock) {
  clock.make_ppm = wishes.is_precise ? draw.one_of(std::array{10.0, 15.0, 20.0})
                                     : draw.one_of(kTolerancesPpm);
  const std::string make = "\"" + number(clock.make_ppm, 0) + "ppm\"";
  clock.tolerance = make;
  if (draw.chance(0.3)) {
    clock.tolerance = "{ \"make\": " + make +
                      ", \"temperature\": \"30ppm\", \"ageing\": \"5ppm\" }";
  }
}

/// What its user may suspect although it is innocent.
void draw_decoys(Draw& draw, Scene& scene) {
  if (draw.chance(0.3)) {
    scene.suspects.push_back(
        {"the internal RC oscillator",
         megahertz_text(1e6 * draw.one_of(std::array{8.0, 16.0, 48.0})),
         number(draw.uniform(1.0, 5.0), 1) + "%"});
  }
  if (draw.chance(0.3)) {
    const double mhz = draw.one_of(usual_crystals_mhz());
    if (megahertz_text(1e6 * mhz) == scene.source) return;
    scene.suspects.push_back(
        {"the former crystal", megahertz_text(1e6 * mhz), "50ppm"});
  }
}

constexpr std::array kChannelSets = {
    std::array{"clk_out", "tim_out", "aux_clk"}, std::array{"D0", "D1", "D2"},
    std::array{"sysclk_div", "tick", "adc_clk"},
    std::array{"radio_clk", "log_tick", "phy_clk"}};

void add_clock(Draw& draw, const Wishes& wishes, const char* channel,
               Scene& scene) {
  const std::size_t i = scene.clocks.size();
  scene.branches.push_back(draw_branch(draw, wishes));
  SpecClock clock;
  clock.channel = channel;
  clock.expect = path_text(scene, i);
  draw_tolerance(draw, wishes, clock);
  if (i > 0) {  // one source, one tolerance
    clock.tolerance = scene.clocks[0].tolerance;
    clock.make_ppm = scene.clocks[0].make_ppm;
  }
  scene.clocks.push_back(clock);
  DrivenChannel driven;
  driven.name = channel;
  driven.signal.frequency_hz = path_of(scene, i).frequency_hz.to_double();
  driven.signal.duty = draw.chance(0.6) ? 0.5 : draw.uniform(0.3, 0.7);
  driven.signal.jitter_s = scene.instrument.jitter_s;
  scene.channels.push_back(driven);
  scene.truth.emplace_back();
}

}  // namespace

const std::vector<double>& usual_crystals_mhz() {
  static const std::vector<double> kUsual = {
      4.0,  4.9152,  6.0,  7.3728, 8.0,  10.0, 11.0592, 12.0, 12.288,
      13.0, 14.7456, 16.0, 18.432, 19.2, 20.0, 22.1184, 24.0, 24.576,
      25.0, 26.0,    27.0, 30.0,   32.0, 38.4, 40.0,    48.0, 50.0};
  return kUsual;
}

std::string megahertz_text(double hz) {
  return number(1e-6 * hz, 6) + "MHz";
}

PathFactor factor_of(bool divides, const Rational& value) {
  std::string text = value.to_string();
  if (!value.is_integer()) {  // as people write it: whole and rest
    const auto den = static_cast<std::int64_t>(value.den());
    const auto num = static_cast<std::int64_t>(value.num());
    text = "(" + std::to_string(num / den) + " + " + std::to_string(num % den) +
           "/" + std::to_string(den) + ")";
  }
  return {divides, value, text};
}

std::string path_text(const Scene& scene, std::size_t clock) {
  std::string text = scene.source;
  for (const auto* part : {&scene.core, &scene.branches[clock]}) {
    for (const PathFactor& f : *part) {
      text += (f.divides ? " / " : " * ") + f.text;
    }
  }
  return text;
}

ClockPath path_of(const Scene& scene, std::size_t clock) {
  return *parse_clock_path(scene.clocks[clock].expect);
}

std::optional<Scene> draw_scene(Draw& draw, const Wishes& wishes) {
  Scene scene;
  scene.instrument = draw_instrument(draw, wishes.is_precise);
  const double source_hz = 1e6 * draw.one_of(usual_crystals_mhz());
  scene.source = megahertz_text(source_hz);
  if (!draw_core(draw, wishes, source_hz, scene.core)) return std::nullopt;
  const std::size_t count =
      wishes.clocks > 0 ? wishes.clocks
                        : static_cast<std::size_t>(draw.one_of(
                              std::array<std::int64_t, 6>{1, 1, 1, 2, 2, 3}));
  const auto names = draw.one_of(kChannelSets);
  for (std::size_t i = 0; i < count; ++i) {
    add_clock(draw, wishes, names.at(i), scene);
    if (path_of(scene, i).frequency_hz.to_double() < wishes.least_hz) {
      return std::nullopt;
    }
  }
  const double make = scene.clocks[0].make_ppm;
  scene.source_ppm = draw.uniform(-0.6 * make, 0.6 * make);
  for (DrivenChannel& c : scene.channels) {
    c.signal.frequency_hz *= 1.0 + 1e-6 * scene.source_ppm;
  }
  draw_decoys(draw, scene);
  if (wishes.is_precise &&
      scene.instrument.rate_hz * scene.instrument.duration_s < 3e5) {
    return std::nullopt;
  }
  if (!can_be_seen(scene)) return std::nullopt;
  return scene;
}

bool can_be_seen(const Scene& scene) {
  constexpr double kSamplesAPeriod = 5.0;  // comfortably above what is judged
  constexpr double kLeastCycles = 30.0;
  constexpr double kMostCycles = 60'000.0;  // keeps a trial short
  const Instrument& instrument = scene.instrument;
  return std::all_of(
      scene.channels.begin(), scene.channels.end(),
      [&](const DrivenChannel& channel) {
        const Signal& s = channel.signal;
        if (s.frequency_hz <= 0.0) return true;
        const double cycles = s.frequency_hz * instrument.duration_s;
        const double shorter = std::min(s.duty, 1.0 - s.duty);
        if (cycles < kLeastCycles || cycles > kMostCycles) return false;
        return scene.may_alias ||
               (instrument.rate_hz > kSamplesAPeriod * s.frequency_hz &&
                shorter * instrument.rate_hz > 1.5 * s.frequency_hz);
      });
}

bool stands_out(const Scene& scene, double ppm) {
  const Instrument& instrument = scene.instrument;
  const double sampling =
      1e6 / (instrument.rate_hz * instrument.duration_s);  // Ts / T
  return std::abs(ppm) > scene.clocks[0].make_ppm +
                             1.2 * (instrument.half_width_ppm + sampling);
}

std::string specification_text(const Scene& scene) {
  std::string text = "{\n  \"title\": \"field data logger\",\n";
  text += "  \"captured_at\": \"23degC\",\n  \"clocks\": [\n";
  for (std::size_t i = 0; i < scene.clocks.size(); ++i) {
    const SpecClock& c = scene.clocks[i];
    text += "    { \"name\": \"" + c.channel + "\", \"channel\": \"" +
            c.channel + "\",\n      \"expect\": \"" + c.expect +
            "\",\n      \"tolerance\": " + c.tolerance;
    if (!c.requirement.empty()) {
      text += ",\n      \"requirements\": [ \"" + c.requirement + "\" ]";
    }
    if (!c.settle_within.empty()) {
      text += ",\n      \"settle_within\": \"" + c.settle_within + "\"";
    }
    text += i + 1 < scene.clocks.size() ? " },\n" : " }";
  }
  text += " ]";
  if (!scene.suspects.empty()) text += ",\n  \"suspects\": [\n";
  for (std::size_t i = 0; i < scene.suspects.size(); ++i) {
    const SuspectText& s = scene.suspects[i];
    text += "    { \"name\": \"" + s.name + "\", \"frequency\": \"" +
            s.frequency + "\", \"tolerance\": \"" + s.tolerance + "\" }";
    text += i + 1 < scene.suspects.size() ? ",\n" : " ]";
  }
  return text + "\n}\n";
}

namespace {

CauseCode code_of(PathNeighbourKind kind) {
  switch (kind) {
    case PathNeighbourKind::kOneMore:
    case PathNeighbourKind::kOneLess:
    case PathNeighbourKind::kTwoOneMore:
      return CauseCode::kOffByOne;
    case PathNeighbourKind::kFactorMissing:
      return CauseCode::kFactorMissing;
    case PathNeighbourKind::kFactorTwice:
      return CauseCode::kFactorTwice;
    case PathNeighbourKind::kDoubled:
      return CauseCode::kPathDoubled;
    case PathNeighbourKind::kHalved:
      return CauseCode::kPathHalved;
  }
  return CauseCode::kOffByOne;
}

struct Reading {
  CauseCode code;
  double ratio;
  double half_width_ppm;
};

constexpr double kCrystalPpm = 50.0;  // of a usual one

/// What could be behind a ratio, with how far off it may be by itself.
std::vector<Reading> readings_of(const Scene& scene, std::size_t clock) {
  const ClockPath path = path_of(scene, clock);
  const double source = path.source_hz.to_double();
  const double make = scene.clocks[clock].make_ppm;
  std::vector<Reading> readings = {
      // The widest a crystal can be pulled, and more than it ages.
      {CauseCode::kCrystalOff, 1.0, 3000.0}};
  for (const double mhz : usual_crystals_mhz()) {
    if (std::abs(1e6 * mhz / source - 1.0) < 1e-9) continue;
    readings.push_back(
        {CauseCode::kOtherCrystal, 1e6 * mhz / source, kCrystalPpm});
  }
  if (const auto neighbours = path_neighbours(path)) {
    for (const PathNeighbour& n : *neighbours) {
      readings.push_back({code_of(n.kind), n.ratio.to_double(), make});
    }
  }
  for (const double ratio : {125.0 / 128, 1000.0 / 1001, 147.0 / 160}) {
    readings.push_back({CauseCode::kNumberMixedUp, ratio, make});
    readings.push_back({CauseCode::kNumberMixedUp, 1.0 / ratio, make});
  }
  for (const double ratio : {24.0 / 25, 25.0 / 24, 1e3, 1e-3}) {
    readings.push_back({CauseCode::kWrongSampleRate, ratio, make});
  }
  for (const SuspectText& s : scene.suspects) {
    readings.push_back({CauseCode::kOtherSource,
                        parse_frequency(s.frequency)->to_double() / source,
                        parse_tolerance(s.tolerance)->high_ppm.to_double()});
  }
  return readings;
}

}  // namespace

bool has_other_reading(const Scene& scene, std::size_t clock, double ratio,
                       const std::vector<TrueCause>& causes) {
  const std::vector<Reading> readings = readings_of(scene, clock);
  return std::any_of(
      readings.begin(), readings.end(), [&](const Reading& reading) {
        const bool is_true =
            std::any_of(causes.begin(), causes.end(), [&](const TrueCause& c) {
              // A suspect may be a usual crystal: it was named, so that counts.
              return c.code == reading.code ||
                     (c.code == CauseCode::kOtherSource &&
                      reading.code == CauseCode::kOtherCrystal);
            });
        return !is_true &&
               std::abs(ratio / reading.ratio - 1.0) * 1e6 <
                   reading.half_width_ppm + scene.instrument.half_width_ppm;
      });
}

}  // namespace clockassay::faults
