// SPDX-License-Identifier: GPL-3.0-or-later
// Damaged captures of boards whose clock is known: tools/bench/corruption is
// the same at length.
#include "support/corruption.h"

#include <doctest/doctest.h>

#include <cstddef>
#include <cstdint>

#include <map>
#include <random>
#include <string>

using namespace clockassay;

TEST_CASE("corruption: captures as they are give the right answer") {
  // But where few edges jitter at the sampler's one phase, which tells little.
  int undecided = 0;
  for (std::size_t kind = 0; kind < board_kinds(); ++kind) {
    for (std::uint64_t seed = 1; seed <= 5; ++seed) {
      CAPTURE(kind);
      CAPTURE(seed);
      const KnownBoard board = make_board(kind, seed);
      const Outcome outcome = outcome_of(board, board.text);
      if (outcome == Outcome::kUndecided) {
        ++undecided;
      } else {
        CHECK(outcome == Outcome::kRightAnswer);
      }
    }
  }
  CHECK(undecided <= 2);  // of 40
}

TEST_CASE("corruption: no damage makes a pass of a board beyond its limit") {
  constexpr std::uint64_t kSeed = 7;
  CAPTURE(kSeed);
  std::mt19937_64 random(kSeed);
  std::map<Outcome, int> counts;
  for (std::size_t kind = 0; kind < board_kinds(); ++kind) {
    const KnownBoard board = make_board(kind, kSeed);
    for (const Damage harm : all_damage()) {
      for (int trial = 0; trial < 40; ++trial) {
        CAPTURE(kind);
        CAPTURE(damage_name(harm));
        CAPTURE(trial);
        const std::string text = damage(board.text, board.header, harm, random);
        if (text == board.text) continue;
        const Outcome outcome = outcome_of(board, text);
        ++counts[outcome];
        CHECK(outcome != Outcome::kWrongPass);
      }
    }
  }
  // The damage is some: each of the other ways out is taken.
  CHECK(counts[Outcome::kRefused] > 100);
  CHECK(counts[Outcome::kUndecided] > 100);
  CHECK(counts[Outcome::kRightAnswer] > 100);
}
