// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/csv_sample_scan.h"

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

struct Taken {
  std::size_t rows = 0;
  std::vector<std::pair<std::size_t, std::size_t>> turns;  // row, place
  bool operator==(const Taken&) const = default;
};

/// The rows of `bytes` after the first.
Taken taken(const std::string& bytes, std::size_t row_size,
            std::uint64_t turning, std::uint64_t read,
            SimdLevel simd = simd_level()) {
  CsvSampleScan scan(bytes.substr(0, row_size), turning, read);
  Taken result;
  std::size_t at = row_size;
  do {
    scan.take(bytes, at, simd);
    for (const CsvSampleScan::Turn& turn : scan.turns()) {
      result.turns.emplace_back(result.rows + turn.row, turn.place);
    }
    result.rows += scan.rows();
    at += scan.size();
  } while (scan.is_full());
  CHECK(at == (result.rows + 1) * row_size);
  return result;
}

/// The same, row by row.
Taken expected(const std::string& bytes, std::size_t row_size,
               std::uint64_t turning, std::uint64_t read) {
  Taken result;
  for (std::size_t at = row_size; at + row_size <= bytes.size();
       at += row_size) {
    std::vector<std::pair<std::size_t, std::size_t>> turns;
    for (std::size_t i = 0; i < row_size; ++i) {
      const char before = bytes[at + i - row_size];
      if (bytes[at + i] == before) continue;
      if ((turning >> i & 1) == 0 || bytes[at + i] != (before ^ 1)) {
        return result;
      }
      if ((read >> i & 1) != 0) turns.emplace_back(result.rows, i);
    }
    result.turns.insert(result.turns.end(), turns.begin(), turns.end());
    ++result.rows;
  }
  return result;
}

TEST_CASE("CsvSampleScan: finds turns, by hand") {
  using Turns = std::vector<std::pair<std::size_t, std::size_t>>;
  const std::string bytes = "0,1\n0,1\n1,1\n1,0\n1,0\n0,1\n";
  const Taken both = taken(bytes, 4, 0b101, 0b101);
  CHECK(both.rows == 5);
  CHECK(both.turns == Turns{{1, 0}, {2, 2}, {4, 0}, {4, 2}});
  CHECK(taken(bytes, 4, 0b101, 0b001).turns == Turns{{1, 0}, {4, 0}});
  CHECK(taken(bytes, 4, 0b001, 0b001).rows == 2);
  CHECK(taken("0,1\n0,1", 4, 0b101, 0b101).rows == 0);
  CHECK(taken("0,1\n", 4, 0b101, 0b101).rows == 0);
}

TEST_CASE("CsvSampleScan: as row by row, any bytes, any level") {
  constexpr unsigned kSeed = 41;
  CAPTURE(kSeed);
  std::mt19937_64 random(kSeed);
  const auto below = [&](std::uint64_t n) {
    return static_cast<std::size_t>(random() % n);
  };
  std::size_t turns = 0;
  for (int trial = 0; trial < 3000; ++trial) {
    CAPTURE(trial);
    const std::size_t row_size = 1 + below(CsvSampleScan::kLongest);
    std::string row;
    std::uint64_t turning = 0;
    for (std::size_t i = 0; i < row_size; ++i) {
      row += ",01x"[below(4)];
      const bool level = row[i] == '0' || row[i] == '1';
      if (level) turning |= std::uint64_t{1} << i;
    }
    const std::uint64_t read = turning & random();
    std::string bytes = row;
    const std::size_t seldom = 1 + below(below(2) == 0 ? 3 : 1000);
    for (std::size_t n = below(trial % 50 == 0 ? 3000 : 60); n > 0; --n) {
      for (std::size_t i = 0; i < row_size; ++i) {
        if ((turning >> i & 1) != 0 && below(seldom) == 0) row[i] ^= 1;
      }
      bytes += row;
    }
    const Taken rows = expected(bytes, row_size, turning, read);
    for (const SimdLevel simd : test::simd_levels()) {
      CHECK(taken(bytes, row_size, turning, read, simd) == rows);
    }
    turns += rows.turns.size();
    if (bytes.size() == row_size) continue;
    bytes[row_size + below(bytes.size() - row_size)] ^=
        static_cast<char>(1 << below(8));
    const Taken damaged = expected(bytes, row_size, turning, read);
    for (const SimdLevel simd : test::simd_levels()) {
      CHECK(taken(bytes, row_size, turning, read, simd) == damaged);
    }
  }
  CHECK(turns > 100000);
}

/// Rows of samples without a time, with some of what scans do not take.
std::string random_file(std::mt19937_64& random, std::size_t oddities) {
  const auto below = [&](std::uint64_t n) {
    return static_cast<std::size_t>(random() % n);
  };
  const std::size_t columns = 1 + below(below(2) == 0 ? 2 : 40);
  const std::string line_end = below(3) == 0 ? "\r\n" : "\n";
  const std::size_t turns = 1 + below(20);  // one level in so many turns
  std::string text = "d0";
  for (std::size_t i = 1; i < columns; ++i) text += ",d" + std::to_string(i);
  text += line_end;
  std::vector<std::string> levels(columns, "0");
  for (std::size_t n = 0; n < 200; ++n) {
    for (std::string& level : levels) {
      if (below(turns) == 0) level = level == "0" ? "1" : "0";
    }
    std::vector<std::string> cells = levels;
    const bool odd = n > 20 && oddities > 0 && below(300 / oddities) == 0;
    if (odd) {
      static const char* const kOdd[] = {"x",  "",  "\"1\"", " 1", "2",
                                         "0,", "L", "1.0",   "01"};
      cells[below(columns)] = kOdd[below(std::size(kOdd))];
    }
    for (std::size_t i = 0; i < columns; ++i) {
      text += (i == 0 ? "" : ",") + cells[i];
    }
    text += line_end;
    if (odd && below(4) == 0) text += "# comment" + line_end;
  }
  if (below(2) == 0) text.resize(text.size() - below(3));
  return text;
}

TEST_CASE("csv: samples without a time at once as one by one, any level") {
  constexpr unsigned kSeed = 42;
  CAPTURE(kSeed);
  std::mt19937_64 random(kSeed);
  std::size_t read = 0;
  for (int trial = 0; trial < 400; ++trial) {
    CAPTURE(trial);
    const std::string text =
        random_file(random, static_cast<std::size_t>(trial % 4));
    ReadOptions options;
    options.csv.time_column = "none";
    options.sample_rate_hz = Rational(1000000);
    if (trial % 3 != 0) options.channels = {"d0"};
    const auto result = test::read_text(text, options);
    read += result ? 1U : 0U;
    const std::string whole = test::all_facts(result);
    // In pieces of a row each there is nothing to be taken at once.
    for (const std::size_t piece : {1u, 50u, 200u, 1500u}) {
      CHECK(test::reading_fault(text, options, {piece, 1}) == std::nullopt);
    }
    test::at_each_simd_level([&] {
      CHECK(test::all_facts(test::read_text(text, options)) == whole);
    });
  }
  CHECK(read > 200);
}

}  // namespace
}  // namespace clockassay
