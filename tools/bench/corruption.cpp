// SPDX-License-Identifier: GPL-3.0-or-later
// Captures of boards whose clock is known, damaged behind their header, judged
// as `verify` does.
//   corruption [CASES [SEED]]
//   corruption --show CASE SEED    one text on standard output
// Returns 1 where a board beyond its limit passes.
#include <array>
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <map>
#include <random>
#include <string>
#include <vector>

#include "bench/trials.h"
#include "support/corruption.h"

using namespace clockassay;

namespace {

struct Case {
  std::size_t board = 0;
  Damage kind{};
  std::string text;
};

/// The same for the same number and seed.
std::vector<KnownBoard> boards(std::uint64_t seed) {
  std::vector<KnownBoard> made;
  for (std::size_t k = 0; k < board_kinds(); ++k) {
    made.push_back(make_board(k, seed));
  }
  return made;
}

Case make_case(const std::vector<KnownBoard>& from, std::uint64_t number,
               std::uint64_t seed) {
  std::mt19937_64 random(seed * 0x9E3779B97F4A7C15u + number);
  Case c;
  c.board = number % from.size();
  c.kind = all_damage()[number / from.size() % all_damage().size()];
  const KnownBoard& board = from[c.board];
  c.text = damage(board.text, board.header, c.kind, random);
  // Some are damaged twice.
  if (random() % 4 == 0 && c.text.size() > board.header + 1) {
    const Damage more = all_damage()[random() % all_damage().size()];
    c.text = damage(c.text, board.header, more, random);
  }
  return c;
}

constexpr std::size_t kOutcomes = 6;

struct Tally {
  std::array<std::size_t, kOutcomes> counts{};
  std::size_t unharmed = 0;
};

void print(const std::map<std::string, Tally>& rows) {
  std::printf("| damage | cases | as it was |");
  for (std::size_t o = 0; o < kOutcomes; ++o) {
    std::printf(" %s |", outcome_name(static_cast<Outcome>(o)));
  }
  std::printf("\n|---|---|---|");
  for (std::size_t o = 0; o < kOutcomes; ++o) std::printf("---|");
  std::printf("\n");
  for (const auto& [name, tally] : rows) {
    std::size_t all = tally.unharmed;
    for (const std::size_t n : tally.counts) all += n;
    std::printf("| %s | %zu | %zu |", name.c_str(), all, tally.unharmed);
    for (const std::size_t n : tally.counts) std::printf(" %zu |", n);
    std::printf("\n");
  }
}

struct Judged {
  std::size_t board;
  Damage kind;
  bool is_unharmed;
  Outcome outcome;
};

int study(std::size_t cases, std::uint64_t seed) {
  const std::vector<KnownBoard> from = boards(seed);
  for (std::size_t k = 0; k < from.size(); ++k) {
    const Outcome outcome = outcome_of(from[k], from[k].text);
    if (outcome == Outcome::kRightAnswer) continue;
    std::fprintf(stderr, "board %zu is %s as it is\n", k,
                 outcome_name(outcome));
    return 1;
  }
  const auto judged = trials_of(cases, [&](std::size_t i) {
    const Case c = make_case(from, i, seed);
    const bool is_unharmed = c.text == from[c.board].text;
    return Judged{c.board, c.kind, is_unharmed,
                  is_unharmed ? Outcome::kRightAnswer
                              : outcome_of(from[c.board], c.text)};
  });
  std::map<std::string, Tally> rows;
  std::size_t wrong_passes = 0;
  std::array<std::size_t, kOutcomes> shown{};
  for (std::size_t i = 0; i < judged.size(); ++i) {
    const Judged& j = judged[i];
    Tally& row = rows[damage_name(j.kind)];
    if (j.is_unharmed) {
      ++row.unharmed;
      continue;
    }
    const auto o = static_cast<std::size_t>(j.outcome);
    ++row.counts[o];
    if (j.outcome == Outcome::kWrongPass) ++wrong_passes;
    constexpr std::size_t kShown = 20;
    if (j.outcome >= Outcome::kWrongFail && ++shown[o] <= kShown) {
      std::printf("%s: case %zu, board %zu, %s\n", outcome_name(j.outcome), i,
                  j.board, damage_name(j.kind));
    }
  }
  std::printf("seed %llu, %zu cases\n\n", static_cast<unsigned long long>(seed),
              cases);
  print(rows);
  return wrong_passes == 0 ? 0 : 1;
}

}  // namespace

int main(int count, char** values) {
  const std::vector<std::string> given(values + 1, values + count);
  if (given.size() == 3 && given[0] == "--show") {
    const std::uint64_t seed = std::strtoull(given[2].c_str(), nullptr, 10);
    const std::uint64_t number = std::strtoull(given[1].c_str(), nullptr, 10);
    const Case c = make_case(boards(seed), number, seed);
    std::fwrite(c.text.data(), 1, c.text.size(), stdout);
    return 0;
  }
  const std::size_t cases =
      given.empty() ? 100'000 : std::strtoull(given[0].c_str(), nullptr, 10);
  const std::uint64_t seed =
      given.size() < 2 ? 1 : std::strtoull(given[1].c_str(), nullptr, 10);
  return study(cases, seed);
}
