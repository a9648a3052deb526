// SPDX-License-Identifier: GPL-3.0-or-later
// Simulated clocks of 24 MHz, 500 MS/s, 1e5 rising edges, of which it is known
// what they behave like. tools/bench/character counts more of them.
#include "clockassay/estimate/oscillator_character.h"

#include <doctest/doctest.h>

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
      const OscillatorCharacter c = character_trial(source, 100'000, random);
      CHECK(c.kind == source.kind);
      CHECK_FALSE(c.evidence.empty());
    }
  }
}

TEST_CASE("describe_character: a short capture cannot tell") {
  constexpr std::uint64_t kSeed = 24;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  for (const ClockSource& source : kClockSources) {
    if (source.kind != CharacterKind::kCrystalLike) continue;
    const OscillatorCharacter c = character_trial(source, 1'500, random);
    CHECK(c.kind == CharacterKind::kCannotTell);
  }
  // Half as long a capture reaches down to 23 kHz, which does not tell a spread
  // of 31 kHz from wander.
  for (const ClockSource& source : kClockSources) {
    if (source.kind != CharacterKind::kSpreadSpectrum) continue;
    const OscillatorCharacter c = character_trial(source, 50'000, random);
    CHECK(c.kind == CharacterKind::kCannotTell);
  }
  // Without any point there is nothing to go by.
  const Stability none;
  const OscillatorCharacter c = describe_character(
      {&none, nullptr, 3, Seconds(1e-6), Seconds(), Seconds()});
  CHECK(c.kind == CharacterKind::kCannotTell);
  CHECK(c.evidence.size() == 1);
}

TEST_CASE(
    "describe_character: a line that sampling may have made is no PLL's") {
  StabilityPoint point;
  point.tau = Seconds(1e-3);
  point.mdev = 1e-9;
  point.noise = NoiseKind::kWhitePhase;
  Stability stability;
  stability.octaves = {point};
  TieSpectrum spectrum;
  spectrum.floor_rms = Seconds(1e-9);
  spectrum.most_by_sampling = Seconds(2e-9);
  const auto kind = [&] {
    return describe_character({&stability, &spectrum, 100'000, Seconds(1e-7),
                               Seconds(1e-9), Seconds(1e-9)})
        .kind;
  };
  CHECK(kind() == CharacterKind::kCrystalLike);
  spectrum.spurs.resize(1);
  spectrum.spurs[0].peak = Seconds(1.9e-9);
  CHECK(kind() == CharacterKind::kCannotTell);
  spectrum.spurs[0].peak = Seconds(2.1e-9);
  CHECK(kind() == CharacterKind::kPllWithSpur);
  spectrum.spurs[0].peak = Seconds(1.9e-9);
  spectrum.sampling_known = true;
  CHECK(kind() == CharacterKind::kPllWithSpur);
}
