// SPDX-License-Identifier: GPL-3.0-or-later
// Simulated clocks of 24 MHz, 500 MS/s, 1e5 rising edges, of which it is known
// what they behave like. tools/bench/character counts more of them.
#include "clockassay/estimate/oscillator_character.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <string>
#include <vector>

#include "support/character_trial.h"

using namespace clockassay;

TEST_CASE("describe_character: known sources are told, and never for another") {
  constexpr std::uint64_t kSeed = 23;
  constexpr int kTrials = 8;
  INFO("seed ", kSeed);
  for (const ClockSource& source : kClockSources) {
    CAPTURE(source.name);
    for (int t = 0; t < kTrials; ++t) {
      std::seed_seq own{kSeed, static_cast<std::uint64_t>(t)};
      std::mt19937_64 random(own);
      const OscillatorCharacter c = character_trial(source, {}, random);
      CHECK(c.kind == source.kind);
      CHECK_FALSE(c.evidence.empty());
    }
  }
}

namespace {

bool says(const OscillatorCharacter& c, const char* what) {
  for (const std::string& reason : c.evidence) {
    if (reason.find(what) != std::string::npos) return true;
  }
  return false;
}

const ClockSource& source_of(CharacterKind kind) {
  return *std::find_if(
      kClockSources.begin(), kClockSources.end(),
      [&](const ClockSource& source) { return source.kind == kind; });
}

}  // namespace

TEST_CASE("describe_character: however it is sampled, no wrong word") {
  constexpr std::uint64_t kSeed = 25;
  INFO("seed ", kSeed);
  for (const CharacterSetting& setting : kCharacterSettings) {
    CAPTURE(setting.name);
    const std::uint64_t trials = setting.cycles > 20'000 ? 2 : 8;
    for (const ClockSource& source : kClockSources) {
      CAPTURE(source.name);
      for (std::uint64_t t = 0; t < trials; ++t) {
        CAPTURE(t);
        std::seed_seq own{kSeed, t};
        std::mt19937_64 random(own);
        const OscillatorCharacter c = character_trial(source, setting, random);
        CHECK((c.kind == source.kind || c.kind == CharacterKind::kCannotTell));
        CHECK_FALSE(c.evidence.empty());
      }
    }
  }
}

TEST_CASE("describe_character: without a sample rate lines say nothing") {
  constexpr std::uint64_t kSeed = 26;
  INFO("seed ", kSeed);
  for (std::uint64_t t = 0; t < 4; ++t) {
    std::seed_seq own{kSeed, t};
    std::mt19937_64 random(own);
    const OscillatorCharacter c =
        character_trial(source_of(CharacterKind::kCrystalLike),
                        {"", 500e6, 20'000, false}, random);
    CHECK(c.kind == CharacterKind::kCannotTell);
    CHECK(says(c, "state --sample-rate"));
  }
}

TEST_CASE("describe_character: what sampling may make is no wander") {
  // 24 MHz at 120 MS/s, up to 100 ppm off: beats of 8.3 ns that take 400 µs and
  // more, in a capture of 830 µs.
  constexpr std::uint64_t kSeed = 27;
  INFO("seed ", kSeed);
  int seen = 0;
  for (std::uint64_t t = 0; t < 30; ++t) {
    CAPTURE(t);
    std::seed_seq own{kSeed, t};
    std::mt19937_64 random(own);
    const OscillatorCharacter c = character_trial(
        source_of(CharacterKind::kCrystalLike), {"", 120e6, 20'000}, random);
    CHECK(c.kind != CharacterKind::kRcLike);
    CHECK(c.kind != CharacterKind::kSlewing);
    REQUIRE(c.wander);
    // By definition of the bound: the crystal's own is below 1e-8.
    CHECK(c.wander->mdev < c.wander->sampling_bound + 1e-8);
    seen += c.wander->mdev > kRcLikeAbove;
  }
  // Without the bound some would be called RC-like.
  CHECK(seen > 0);
}

TEST_CASE("describe_character: what moves slowly is no RC oscillator") {
  // Warming up by 3 ppm; hum, and modulation slower than lines are looked for.
  constexpr std::uint64_t kSeed = 28;
  INFO("seed ", kSeed);
  std::vector<ClockSource> sources(1);
  sources[0].name = "drift";
  sources[0].drift = 3e-6;
  for (const double depth : {1e-5, 1e-4, 1e-3}) {
    for (const double turns : {0.3, 1.0, 2.6, 5.0, 10.0, 25.0}) {
      ClockSource hum{"hum", CharacterKind::kCannotTell};
      hum.slow = depth;
      hum.slow_turns = turns;
      sources.push_back(hum);
    }
  }
  for (const ClockSource& source : sources) {
    CAPTURE(source.slow);
    CAPTURE(source.slow_turns);
    for (const double rate : {500e6, 125e6}) {
      std::mt19937_64 random(kSeed);
      const OscillatorCharacter c =
          character_trial(source, {"", rate, 50'000}, random);
      CHECK(c.kind != CharacterKind::kRcLike);
      if (source.slow >= 1e-4) CHECK(c.kind != CharacterKind::kCrystalLike);
    }
  }
}

TEST_CASE("describe_character: a short capture cannot tell") {
  constexpr std::uint64_t kSeed = 24;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  for (const ClockSource& source : kClockSources) {
    if (source.kind != CharacterKind::kCrystalLike) continue;
    const OscillatorCharacter c =
        character_trial(source, {"", 500e6, 1'500}, random);
    CHECK(c.kind == CharacterKind::kCannotTell);
  }
  // Half as long a capture reaches down to 23 kHz, which does not tell a spread
  // of 31 kHz from wander.
  for (const ClockSource& source : kClockSources) {
    if (source.kind != CharacterKind::kSpreadSpectrum) continue;
    const OscillatorCharacter c =
        character_trial(source, {"", 500e6, 50'000}, random);
    CHECK(c.kind == CharacterKind::kCannotTell);
  }
  // Without any point there is nothing to go by.
  const Stability none;
  const OscillatorCharacter c = describe_character(
      {&none, nullptr, 3, Seconds(1e-6), Seconds(), Seconds()});
  CHECK(c.kind == CharacterKind::kCannotTell);
  CHECK(c.evidence.size() == 1);
}

TEST_CASE("describe_character: lines that sampling may have made say nothing") {
  StabilityPoint point;
  point.tau = Seconds(1.0);  // sampling of 1 ns makes 1.4e-9 there
  point.mdev = 1e-9;
  point.noise = NoiseKind::kWhitePhase;
  Stability stability;
  stability.octaves = {point};
  TieSpectrum spectrum;
  spectrum.floor_rms = Seconds(1e-9);
  const auto kind = [&] {
    return describe_character({&stability, &spectrum, 100'000'000,
                               Seconds(1e-7), Seconds(1e-9), Seconds(1e-9)})
        .kind;
  };
  CHECK(kind() == CharacterKind::kCrystalLike);
  spectrum.unsorted.resize(1);
  CHECK(kind() == CharacterKind::kCannotTell);
  // What sampling cannot have made does.
  spectrum.spurs.resize(1);
  CHECK(kind() == CharacterKind::kPllWithSpur);
  spectrum.unsorted.clear();
  CHECK(kind() == CharacterKind::kPllWithSpur);
}
