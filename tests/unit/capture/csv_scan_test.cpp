// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/csv_scan.h"

#include <doctest/doctest.h>

#include <cstdint>
#include <memory>
#include <random>
#include <string>
#include <utility>
#include <vector>

#include "support/reading_oracle.h"
#include "support/simd_levels.h"

namespace clockassay {
namespace {

// What stands before the rows, so that there is room to look back.
const std::string kBefore(CsvScan::kLeastBefore, '-');
const std::string kPadding(CsvScan::kLeastBytes, ' ');

struct Taken {
  std::size_t rows = 0;
  std::size_t size = 0;
  std::uint64_t levels = 0;
  std::vector<std::int64_t> times;
  std::vector<int> decimals;
  std::vector<std::pair<std::int64_t, std::uint64_t>> changes;
  bool operator==(const Taken&) const = default;
};

Taken taken(const CsvScanShape& shape, const std::string& rows,
            std::int64_t time, SimdLevel simd = simd_level(),
            const CsvSteps& steps = {}) {
  const auto scan = std::make_unique<CsvScan>();
  scan->take(shape, kBefore + rows, kBefore.size(), time, 0, steps, simd);
  Taken result{scan->rows(), scan->size(), scan->levels(), {}, {}, {}};
  for (const std::int64_t t : scan->times()) result.times.push_back(t);
  for (const int d : scan->decimals()) result.decimals.push_back(d);
  const auto [times, levels] = scan->changes();
  for (std::size_t i = 0; i < times.size(); ++i) {
    result.changes.emplace_back(times[i], levels[i]);
  }
  return result;
}

TEST_CASE("CsvScan: takes rows with times of any length, by hand") {
  // Levels are the bytes 1 and 3 of the rest; three decimals are in full.
  const CsvScanShape shape(",0,0\n", 0b1010, '.', 3);
  const std::uint64_t a = shape.level_bit(1), b = shape.level_bit(3);
  const std::string rows = "1,0,0\n1.5,0,1\n1.501,1,1\n12,1,1\n123.02,0,0\n";
  const Taken all = taken(shape, rows + kPadding, 999);
  CHECK(all.rows == 5);
  CHECK(all.size == rows.size());
  CHECK(all.times ==
        std::vector<std::int64_t>{1000, 1500, 1501, 12000, 123020});
  CHECK(all.decimals == std::vector<int>{0, 1, 3, 0, 2});
  CHECK(all.changes ==
        decltype(all.changes){{1500, b}, {1501, a | b}, {123020, 0}});
  CHECK(all.levels == 0);
  CHECK(taken(shape, rows + kPadding, 1000).rows == 0);
  CHECK(taken(shape, rows, 999).rows == 0);
  CHECK(taken(shape, rows + kPadding, 999, simd_level(), {1, 9999}).rows == 3);
  CHECK(taken(shape, rows + kPadding, 0, simd_level(), {2, 20000}).rows == 2);
}

TEST_CASE("CsvScan: whatever byte is wrong ends the scan at its row") {
  const std::string end = ",0,a\n";
  const CsvScanShape shape(end, 0b10, '.', 3);
  std::string rows;
  for (int i = 0; i < 12; ++i) {
    rows += std::to_string(100 + i) + "." + std::to_string(i) + ",1,a\n";
  }
  const Taken all = taken(shape, rows + kPadding, 0);
  REQUIRE(all.rows == 12);
  for (std::size_t i = 0; i < rows.size(); ++i) {
    for (const char c : {'x', ':', '/', '\0', '\xFF', '.', ',', '\n', '-'}) {
      std::string damaged = rows + kPadding;
      if (damaged[i] == c) continue;
      damaged[i] = c;
      CAPTURE(i);
      CAPTURE(c);
      std::size_t row = 0;
      for (std::size_t k = 0; k < i; ++k) row += rows[k] == '\n' ? 1U : 0U;
      const Taken plain = taken(shape, damaged, 0, SimdLevel::kPlain);
      // A mark for a digit is right but for the order of times.
      CHECK(plain.rows >= row);
      CHECK((plain.rows == row || c == '.'));
      for (const SimdLevel simd : test::simd_levels()) {
        CHECK(taken(shape, damaged, 0, simd) == plain);
      }
    }
  }
}

TEST_CASE("CsvScan: a time with a mark and no digit behind or before it") {
  // The third is right: the same with a digit each.
  const CsvScanShape shape(",1\n", 0b10, '.', 2);
  const std::pair<std::string, bool> kinds[] = {
      {".", false}, {"..", false}, {".5", true}};
  for (const auto& [end, is_right] : kinds) {
    for (std::size_t odd = 0; odd < 20; ++odd) {
      std::string rows;
      for (std::size_t i = 0; i < 20; ++i) {
        rows += std::to_string(100 + i) + (i == odd ? end : "") + ",1\n";
      }
      CAPTURE(rows);
      for (const SimdLevel simd : test::simd_levels()) {
        CHECK(taken(shape, rows + kPadding, 0, simd).rows ==
              (is_right ? 20 : odd));
      }
    }
  }
  std::string rows = ".25,1\n";
  for (int i = 1; i < 20; ++i) rows += std::to_string(i) + ",1\n";
  for (const SimdLevel simd : test::simd_levels()) {
    CHECK(taken(shape, rows + kPadding, 0, simd).rows == 0);
  }
}

TEST_CASE("CsvScan: the same with every level of instructions, any shape") {
  constexpr unsigned kSeed = 31;
  CAPTURE(kSeed);
  std::mt19937_64 random(kSeed);
  const auto below = [&](std::uint64_t n) {
    return static_cast<std::size_t>(random() % n);
  };
  std::size_t all = 0;
  for (int trial = 0; trial < 3000; ++trial) {
    const std::size_t decimals = below(CsvScanShape::kTimeBytes);
    std::string rest;
    std::uint64_t turning = 0;
    for (std::size_t n = below(CsvScanShape::kMostRest); n > 0; --n) {
      rest += ",;01x \r"[below(7)];
      const bool level = rest.back() == '0' || rest.back() == '1';
      if (level && below(2) == 0)
        turning |= std::uint64_t{1} << (rest.size() - 1);
    }
    rest += '\n';
    const CsvScanShape shape(rest, turning, '.', decimals);
    std::string rows;
    std::vector<std::int64_t> times;
    std::int64_t time = 0;
    for (std::size_t n = below(40); n > 0; --n) {
      time += 1 + static_cast<std::int64_t>(random() % (1u << below(30)));
      std::string text = std::to_string(time);
      if (text.size() <= decimals) {
        text = std::string(decimals + 1 - text.size(), '0') + text;
      }
      if (decimals > 0) {
        text.insert(text.size() - decimals, ".");
        while (below(4) != 0 && text.back() == '0') text.pop_back();
        if (text.back() == '.') text.pop_back();
      }
      if (text.size() > CsvScanShape::kTimeBytes) break;
      times.push_back(time);
      for (std::size_t i = 0; i < rest.size(); ++i) {
        const bool turns = (turning >> i & 1) != 0 && below(3) == 0;
        text += static_cast<char>(rest[i] ^ (turns ? 1 : 0));
      }
      rows += text;
    }
    CAPTURE(trial);
    CAPTURE(rest);
    CAPTURE(rows);
    const Taken plain = taken(shape, rows + kPadding, 0, SimdLevel::kPlain);
    CHECK(plain.times == times);
    for (const SimdLevel simd : test::simd_levels()) {
      CHECK(taken(shape, rows + kPadding, 0, simd) == plain);
    }
    all += times.size();
    if (rows.empty()) continue;
    rows[below(rows.size())] = "\n.,01\xFF"[below(6)];
    const Taken damaged = taken(shape, rows + kPadding, 0, SimdLevel::kPlain);
    for (const SimdLevel simd : test::simd_levels()) {
      CHECK(taken(shape, rows + kPadding, 0, simd) == damaged);
    }
  }
  CHECK(all > 20000);
}

TEST_CASE("CsvScan: takes a part of what it has no room for") {
  std::string rows;
  for (int i = 0; i < 3000; ++i) rows += std::to_string(1000 + i) + ",0\n";
  const CsvScanShape shape(",0\n", 0b10, '.', 0);
  const Taken plain = taken(shape, rows, 0, SimdLevel::kPlain);
  CHECK(plain.rows >= 1000);
  CHECK(plain.size == 7 * plain.rows);
  for (const SimdLevel simd : test::simd_levels()) {
    CHECK(plain == taken(shape, rows, 0, simd));
  }
}

/// A file of rows that scans take, with some of what they do not.
std::string random_file(std::mt19937_64& random, std::size_t oddities) {
  const auto below = [&](std::uint64_t n) {
    return static_cast<std::size_t>(random() % n);
  };
  const std::size_t columns = 1 + below(below(2) == 0 ? 3 : 24);
  const char separator = below(4) == 0 ? ';' : ',';
  const char mark = separator == ';' ? ',' : '.';
  const std::string line_end = below(3) == 0 ? "\r\n" : "\n";
  const bool trims = below(2) == 0;
  const bool samples = below(2) == 0;
  const std::size_t turns = 1 + below(20);  // one level in so many turns
  std::string text = "time_s";
  for (std::size_t i = 0; i < columns; ++i) {
    text += separator + ("d" + std::to_string(i));
  }
  text += line_end;
  std::vector<std::string> levels(columns, "0");
  std::size_t time = below(3) * 999000;  // ns
  for (std::size_t n = 0; n < 150; ++n) {
    time += samples ? 10 : 1 + below(below(2) == 0 ? 20 : 2000);
    for (std::string& level : levels) {
      if (below(turns) == 0) level = level == "0" ? "1" : "0";
    }
    std::string row = std::to_string(1000000000 + time);
    row = std::string("0") + mark + row.substr(1);
    while (trims && row.back() == '0') row.pop_back();
    std::vector<std::string> cells = levels;
    const bool odd = n > 20 && oddities > 0 && below(200 / oddities) == 0;
    const std::size_t kind = odd ? below(14) : 99;
    if (kind == 0) cells[below(columns)] = "x";
    if (kind == 1) cells[below(columns)] = "";
    if (kind == 2) cells[below(columns)] = "\"1\"";
    if (kind == 3) cells[below(columns)] = " 1";
    if (kind == 4) cells[below(columns)] = "2";
    if (kind == 5) cells.pop_back();
    if (kind == 6) row = "# comment";
    if (kind == 7) row = " " + row;
    if (kind == 8) row += "e0";
    if (kind == 9) row = "0" + row;
    if (kind == 10) time += 40;  // samples are missing behind it
    if (kind == 11)
      time -= below(40) < 39 ? std::min<std::size_t>(time, 10) : 20;
    if (kind == 12) row += "00";
    if (kind == 13) row += "7";
    for (const std::string& cell : cells) row += separator + cell;
    text += row + line_end;
  }
  if (below(2) == 0) text.resize(text.size() - below(4));
  if (below(4) == 0) text += std::string(3, '\0');
  return text;
}

TEST_CASE("csv: read many rows at a time as one by one, any level") {
  constexpr unsigned kSeed = 32;
  CAPTURE(kSeed);
  std::mt19937_64 random(kSeed);
  std::size_t read = 0;
  for (int trial = 0; trial < 600; ++trial) {
    CAPTURE(trial);
    const std::string text =
        random_file(random, static_cast<std::size_t>(trial % 4));
    ReadOptions options;
    if (trial % 3 != 0) options.channels = {"d0"};
    const auto result = test::read_text(text, options);
    read += result ? 1U : 0U;
    const std::string whole = test::all_facts(result);
    // Pieces of a row each are shorter than what a scan takes.
    for (const std::size_t piece : {1u, 200u, 500u, 1500u}) {
      CHECK(test::reading_fault(text, options, {piece, 1}) == std::nullopt);
    }
    test::at_each_simd_level([&] {
      CHECK(test::all_facts(test::read_text(text, options)) == whole);
    });
  }
  CHECK(read > 300);
}

TEST_CASE("csv: a scan ends at any cut") {
  std::mt19937_64 random(33);
  const std::string text = random_file(random, 0).substr(0, 2500);
  for (std::size_t piece = 1; piece <= text.size(); ++piece) {
    CAPTURE(piece);
    REQUIRE(test::reading_fault(text, {}, {piece, 1}) == std::nullopt);
  }
}

}  // namespace
}  // namespace clockassay
