// SPDX-License-Identifier: GPL-3.0-or-later
#include <doctest/doctest.h>

#include <cmath>
#include <cstdint>
#include <functional>
#include <random>
#include <string>

#include "clockassay/analysis/analyse.h"
#include "support/read_text.h"

using namespace clockassay;
using test::read_text;

namespace {

constexpr double kClockHz = 2.4e6;
constexpr double kSampleHz = 1e9;

/// How much later than those of a steady clock an edge comes [s].
using Moved = std::function<double(double t)>;

Moved steady() {
  return [](double) { return 0.0; };
}

/// The triangle of a frequency up and down by 0.5 % in all, integrated.
Moved spread_by_half_a_percent() {
  return [](double t) {
    constexpr double kRate = 31e3;
    const double u = t * kRate - std::floor(t * kRate);
    const double v = u - 0.5;
    const double ahead = u < 0.5 ? u * u - 0.5 * u : 0.5 * v - v * v;
    return -0.005 * ahead / kRate;
  };
}

/// Each period for itself 0.1 % off, as an oscillator without a resonator.
Moved without_crystal() {
  return [random = std::mt19937_64(7), normal = std::normal_distribution<>(),
          late = 0.0](double) mutable {
    late += 1e-3 / kClockHz * normal(random);
    return late;
  };
}

std::string vcd(std::int64_t cycles, double ppm, const Moved& moved) {
  std::string text =
      "$timescale 1 ns $end\n$comment sample rate: 1 GHz $end\n"
      "$var wire 1 ! clk $end $enddefinitions $end\n#0\n0!\n";
  std::mt19937_64 random(11);
  std::normal_distribution<> jitter(0.0, 0.3);
  const double period = 1.0 / (kClockHz * (1.0 + ppm * 1e-6));
  for (std::int64_t k = 1; k <= cycles; ++k) {
    const double t = static_cast<double>(k) * period;
    const auto rise = static_cast<std::int64_t>(
        std::ceil((t + moved(t)) * kSampleHz + jitter(random)));
    text += "#" + std::to_string(rise) + "\n1!\n#" +
            std::to_string(rise + 200) + "\n0!\n";
  }
  return text;
}

AnalysisOptions expecting(const char* tolerance, double timebase_ppm = 2.0) {
  AnalysisOptions options;
  options.timebase = {TimebaseKind::kStated, Ppm(0.0), Ppm(timebase_ppm)};
  const auto make = parse_tolerance(tolerance);
  REQUIRE(make);
  options.expected = {{std::nullopt, Rational(2'400'000), *make}};
  return options;
}

ChannelResult analyse(const std::string& text, const AnalysisOptions& options) {
  const auto capture = read_text(text, {});
  REQUIRE(capture);
  const CaptureResult r =
      analyse_capture(*capture, "capture", options, serial_for);
  REQUIRE(r.channels.size() == 1);
  return r.channels[0];
}

}  // namespace

TEST_CASE("analyse_capture: a clock off its tolerance has a character") {
  const std::string text = vcd(20'000, 200.0, steady());
  const ChannelResult off = analyse(text, expecting("30ppm"));
  REQUIRE(off.character);
  CHECK(off.character->kind == CharacterKind::kCrystalLike);
  CHECK_FALSE(off.spread);
  // Only that is kept, and nothing is warned of that nobody asked for.
  CHECK_FALSE(off.stability);
  CHECK_FALSE(off.spectrum);
  CHECK(off.warnings.size() == analyse(text, {}).warnings.size());
  // One that passes has none, nor has one of which nothing is expected.
  CHECK_FALSE(analyse(text, expecting("300ppm")).character);
  CHECK_FALSE(analyse(text, {}).character);
  AnalysisOptions open = expecting("30ppm");
  open.expected[0].make.reset();
  CHECK_FALSE(analyse(text, open).character);
  open = expecting("30ppm");
  open.expected[0].channel = "other";
  CHECK_FALSE(analyse(text, open).character);
}

TEST_CASE("analyse_capture: an undecided clock has a character") {
  // 10 ppm off, of 30, by a timebase of 100.
  const std::string text = vcd(20'000, 10.0, steady());
  CHECK_FALSE(analyse(text, expecting("30ppm")).character);
  CHECK(analyse(text, expecting("30ppm", 100.0)).character);
}

TEST_CASE("analyse_capture: a spread and an RC oscillator are told as such") {
  const ChannelResult spread = analyse(
      vcd(60'000, -2500.0, spread_by_half_a_percent()), expecting("30ppm"));
  REQUIRE(spread.character);
  CHECK(spread.character->kind == CharacterKind::kSpreadSpectrum);
  REQUIRE(spread.spread);
  CHECK(std::abs(spread.spread->depth.value() - 5000.0) <
        4.0 * spread.spread->depth_uncertainty.value());
  const ChannelResult rc =
      analyse(vcd(20'000, 8000.0, without_crystal()), expecting("30ppm"));
  REQUIRE(rc.character);
  CHECK(rc.character->kind == CharacterKind::kRcLike);
  CHECK_FALSE(rc.spread);
}

TEST_CASE(
    "analyse_capture: a character is told from a million cycles at most") {
  const auto words = "only the last 1048576 cycles were looked at for this";
  const ChannelResult many =
      analyse(vcd(1'100'000, 200.0, steady()), expecting("30ppm"));
  REQUIRE(many.character);
  CHECK(many.character->kind == CharacterKind::kCrystalLike);
  CHECK(many.character->evidence.back() == words);
  const ChannelResult few =
      analyse(vcd(20'000, 200.0, steady()), expecting("30ppm"));
  REQUIRE(few.character);
  CHECK(few.character->evidence.back() != words);
}
