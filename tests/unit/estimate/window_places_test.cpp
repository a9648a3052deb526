// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/window_places.h"

#include <doctest/doctest.h>

#include <cmath>
#include <random>
#include <vector>

#include "base/simd_level.h"
#include "estimate/cycle_sample.h"
#include "support/simd_levels.h"

using namespace clockassay;

TEST_CASE("WindowColumns: a place's column and place are near it") {
  for (const double sigma : {0.001, 0.01, 0.0624, 0.0626, 0.25, 2.0}) {
    CAPTURE(sigma);
    const WindowColumns columns(sigma);
    CHECK(columns.count() + 2 <= WindowColumns::kMostColumns);
    const double margin = 8.0 * sigma;
    int inside = 0, silent = 0, beyond = 0;
    for (int i = -3000; i <= 4000; ++i) {
      const double y = i / 1000.0 + 1e-4;
      const std::int32_t code = columns.code(y);
      const auto column =
          static_cast<std::size_t>(code / WindowColumns::kPlaces);
      const double place = code % WindowColumns::kPlaces;
      if (y < -margin || y >= 1.0 + margin) {
        CHECK(columns.is_beyond(y));
        CHECK(column == columns.count() + 1);
        ++beyond;
      } else if (y > margin && y < 1.0 - margin) {
        CHECK(column == columns.count());
        ++silent;
      } else {
        REQUIRE(column < columns.count());
        // Half a unit, and the rounding of a sum of a few numbers about one.
        const double back = columns.origin(column) + place * columns.unit();
        CHECK(std::abs(back - y) <= 0.5 * columns.unit() + 1e-14);
        ++inside;
      }
    }
    CHECK(inside > 0);
    if (sigma < 0.0625) CHECK(silent > 0);
    if (sigma < 0.3) CHECK(beyond > 0);
  }
}

TEST_CASE("WindowColumns::codes, add_codes: as one edge after the other") {
  constexpr std::uint64_t kSeed = 41;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  test::at_each_simd_level([&] {
    for (const double sigma : {0.002, 0.1, 0.25}) {
      for (const std::size_t n : {1u, 5u, 64u, 2047u, 2048u}) {
        const WindowColumns columns(sigma);
        std::normal_distribution<double> off(0.5, 0.5);
        std::vector<std::int32_t> offset(n);
        SteadyEdges edges{-1'000'000'007, std::int64_t{1} << 45, {}};
        PlaceLine line{0.01234567, 0.0, 1.0 / 42.0};
        line.start = static_cast<double>(edges.y0) -
                     line.slope * static_cast<double>(edges.k0);
        for (std::size_t i = 0; i < n; ++i) {
          offset[i] = static_cast<std::int32_t>(std::lround(
              42.0 * off(random) + line.slope * static_cast<double>(i)));
        }
        edges.offset = offset;
        std::vector<std::int32_t> codes(n);
        columns.codes(edges, line, codes);
        std::vector<ColumnSums> sums(columns.count() + 2), expected = sums;
        add_codes(codes, sums);
        for (std::size_t i = 0; i < n; ++i) {
          const std::int32_t code =
              columns.code(line.at(edges.k(i), edges.y(i)));
          REQUIRE(codes[i] == code);
          ColumnSums& c =
              expected[static_cast<std::size_t>(code / WindowColumns::kPlaces)];
          ++c.n;
          c.number += static_cast<std::int64_t>(i);
          c.place += code % WindowColumns::kPlaces;
        }
        for (std::size_t c = 0; c < sums.size(); ++c) {
          if (c == columns.count()) continue;  // those that say nothing
          CHECK(sums[c].n == expected[c].n);
          CHECK(sums[c].number == expected[c].number);
          CHECK(sums[c].place == expected[c].place);
        }
      }
    }
  });
}

TEST_CASE("add_codes: a full block in one column, at its last place") {
  const std::vector<std::int32_t> codes(
      kMaxBlockCycles, 3 * WindowColumns::kPlaces + WindowColumns::kPlaces - 1);
  std::vector<ColumnSums> sums(8);
  add_codes(codes, sums);
  constexpr auto n = static_cast<std::int64_t>(kMaxBlockCycles);
  CHECK(sums[3].n == n);
  CHECK(sums[3].number == n * (n - 1) / 2);
  CHECK(sums[3].place == n * (WindowColumns::kPlaces - 1));
  CHECK(sums[2].n == 0);
  CHECK(sums[4].n == 0);
}

TEST_CASE("CycleSample: runs spread evenly, about as many as asked for") {
  const std::int64_t first = -12'345'678, last = 87'654'321;
  const CycleSample sample(first, last, 1'000'000);
  CHECK_FALSE(sample.has_all());
  std::int64_t taken = 0, early = 0;
  for (std::int64_t k = first; k <= last; k += 64) {
    if (!sample.takes(sample.run_of(k))) continue;
    taken += 64;
    if (k < (first + last) / 2) early += 64;
  }
  // A step is a whole number, and a run at an end more or less.
  CHECK(std::abs(taken - 1'000'000) < 15'000);
  CHECK(std::abs(2 * early - taken) < 10'000);
  CHECK(CycleSample(first, last, 200'000'000).has_all());
  CHECK(CycleSample().takes(CycleSample().run_of(5)));
}
