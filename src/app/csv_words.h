// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <array>
#include <cstddef>
#include <string_view>

#include "clockassay/capture/read_options.h"

namespace clockassay {

/// A word on the command line and what it stands for.
template <class Value>
struct Word {
  std::string_view word;
  Value value;
};

/// The words alone.
template <class Value, std::size_t N>
constexpr std::array<std::string_view, N> words_of(
    const Word<Value> (&words)[N]) {
  std::array<std::string_view, N> found{};
  for (std::size_t i = 0; i < N; ++i) found[i] = words[i].word;
  return found;
}

inline constexpr Word<char> kSeparatorWords[] = {{"comma", ','},
                                                 {"semicolon", ';'},
                                                 {"tab", '\t'},
                                                 {"bar", '|'},
                                                 {"blank", ' '}};
inline constexpr Word<char> kDecimalMarkWords[] = {{"point", '.'},
                                                   {"comma", ','}};
inline constexpr Word<CsvTimeUnit> kTimeUnitWords[] = {
    {"s", {false, 0}},    {"ms", {false, -3}},  {"us", {false, -6}},
    {"ns", {false, -9}},  {"ps", {false, -12}}, {"fs", {false, -15}},
    {"sample", {true, 0}}};
inline constexpr Word<CsvRows> kRowsWords[] = {{"changes", CsvRows::kChanges},
                                               {"samples", CsvRows::kSamples},
                                               {"events", CsvRows::kEvents}};
inline constexpr Word<LoneEdges> kEdgesWords[] = {
    {"rising", LoneEdges::kRising},
    {"both-rise-first", LoneEdges::kBothRiseFirst},
    {"both-fall-first", LoneEdges::kBothFallFirst}};
inline constexpr Word<int> kRadixWords[] = {{"2", 2}, {"10", 10}, {"16", 16}};

}  // namespace clockassay
