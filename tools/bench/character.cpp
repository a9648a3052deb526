// SPDX-License-Identifier: GPL-3.0-or-later
// As what clocks are told whose make is known: 24 MHz, sampled in several ways.
//   character [SEED [TRIALS]]
// One row a source and a way, how many of its captures are told as what.
#include <array>
#include <cstdio>
#include <cstdlib>
#include <random>
#include <vector>

#include "bench/trials.h"
#include "support/character_trial.h"

using namespace clockassay;

int main(int argc, char** argv) {
  const auto argument = [&](int i, long fallback) {
    return argc > i ? std::atol(argv[i]) : fallback;
  };
  const auto seed = static_cast<std::uint64_t>(argument(1, 1));
  const auto count = static_cast<std::size_t>(argument(2, 200));
  std::printf(
      "seed %llu, %zu captures a row\n\n"
      "| source | sampled at | cannot tell | crystal-like | RC-like | PLL with "
      "spur | spread | slewing |\n|---|---|---|---|---|---|---|---|\n",
      static_cast<unsigned long long>(seed), count);
  for (const CharacterSetting& setting : kCharacterSettings) {
    for (const ClockSource& source : kClockSources) {
      const auto told = trials_of(count, [&](std::size_t i) {
        std::seed_seq own{seed, static_cast<std::uint64_t>(i)};
        std::mt19937_64 random(own);
        return character_trial(source, setting, random).kind;
      });
      std::array<int, 6> counts{};
      for (const CharacterKind kind : told) {
        ++counts[static_cast<std::size_t>(kind)];
      }
      std::printf("| %s | %s |", source.name, setting.name);
      for (const int n : counts) std::printf(" %d |", n);
      std::printf("\n");
      std::fflush(stdout);
    }
  }
}
