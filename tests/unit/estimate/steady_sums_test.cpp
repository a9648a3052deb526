// SPDX-License-Identifier: GPL-3.0-or-later
// Loops over vectors against sums of one point after the other.
#include "estimate/steady_sums.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cstdint>
#include <functional>
#include <random>
#include <vector>

#include "base/simd_level.h"

using namespace clockassay;

namespace {

using Offsets = std::vector<std::int32_t>;

/// Offsets in a range of that width anywhere that is allowed, with a trend.
Offsets draw(std::size_t n, std::int32_t width, std::mt19937_64& random) {
  const std::int32_t room = kNarrowResidual - 1 - width;
  const std::int32_t base =
      std::uniform_int_distribution<std::int32_t>(-room, room)(random);
  std::uniform_int_distribution<std::int32_t> any(0, width);
  Offsets offsets(n);
  for (std::int32_t& o : offsets) o = base + any(random);
  return offsets;
}

/// Every length and width that the loops treat differently, and the largest
/// offsets there are, at every level.
void each(const std::function<void(const Offsets&)>& check) {
  constexpr std::uint64_t kSeed = 17;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  const SimdLevel best = simd_level();
  constexpr std::int32_t kMost = kNarrowResidual - 1;
  for (const SimdLevel level : {SimdLevel::kPlain, best}) {
    limit_simd_level(level);
    for (const std::size_t n :
         {1u, 2u, 3u, 8u, 63u, 64u, 65u, 66u, 129u, 2047u, 2048u}) {
      for (const std::int32_t width : {0, 1, 50, 4095, 4096, 1 << 20}) {
        CAPTURE(n);
        CAPTURE(width);
        check(draw(n, width, random));
      }
      Offsets far(n);
      for (std::size_t i = 0; i < n; ++i) far[i] = i % 2 == 0 ? kMost : -kMost;
      check(far);
      Offsets widest_small(n);
      for (std::size_t i = 0; i < n; ++i)
        widest_small[i] = i % 2 == 0 ? 4095 : 0;
      check(widest_small);
    }
    limit_simd_level(best);
  }
}

}  // namespace

TEST_CASE("sum_offsets: as one point after the other") {
  each([](const Offsets& offsets) {
    LineSums expected;
    for (std::size_t i = 0; i < offsets.size(); ++i) {
      expected.add(static_cast<std::int64_t>(i), offsets[i]);
    }
    const OffsetSums sums = sum_offsets(offsets);
    CHECK(sums.line == expected);
    CHECK(sums.low == *std::min_element(offsets.begin(), offsets.end()));
    CHECK(sums.high == *std::max_element(offsets.begin(), offsets.end()));
  });
}

TEST_CASE("sum_steps: as one step after the other") {
  each([](const Offsets& offsets) {
    const PeriodSums sums = sum_steps(offsets);
    Int128 sum = 0, squares = 0, pair_squares = 0;
    std::int64_t peak = 0;
    std::vector<std::int64_t> steps;
    for (std::size_t i = 1; i < offsets.size(); ++i) {
      steps.push_back(std::int64_t{offsets[i]} - offsets[i - 1]);
      sum += steps.back();
      squares += Int128(steps.back()) * steps.back();
    }
    for (std::size_t i = 1; i < steps.size(); ++i) {
      const std::int64_t d = steps[i] - steps[i - 1];
      pair_squares += Int128(d) * d;
      peak = std::max(peak, std::abs(d));
    }
    CHECK(sums.periods == static_cast<std::int64_t>(steps.size()));
    CHECK(sums.sum == sum);
    CHECK(sums.squares == squares);
    CHECK(sums.pair_squares == pair_squares);
    CHECK(sums.pair_peak == peak);
    if (steps.empty()) return;
    CHECK(sums.pairs == sums.periods - 1);
    CHECK(sums.period_min == *std::min_element(steps.begin(), steps.end()));
    CHECK(sums.period_max == *std::max_element(steps.begin(), steps.end()));
  });
}

TEST_CASE("offset_range, offsets_beyond: as one offset after the other") {
  each([](const Offsets& offsets) {
    for (const double slope : {0.0, 0.4999, -1e-7, 1234.5}) {
      std::vector<double> residuals;
      for (std::size_t i = 0; i < offsets.size(); ++i) {
        residuals.push_back(static_cast<double>(offsets[i]) -
                            static_cast<double>(i) * slope);
      }
      const OffsetRange range = offset_range(offsets, slope);
      CHECK(range.low == *std::min_element(residuals.begin(), residuals.end()));
      CHECK(range.high ==
            *std::max_element(residuals.begin(), residuals.end()));
      const double limit = 0.75 * range.high + 0.25 * range.low;
      for (const bool above : {true, false}) {
        std::vector<std::uint32_t> expected, found;
        for (std::uint32_t i = 0; i < residuals.size(); ++i) {
          const bool beyond =
              above ? residuals[i] >= limit : residuals[i] <= limit;
          if (beyond) expected.push_back(i);
        }
        offsets_beyond(offsets, slope, above, limit, found);
        CHECK(found == expected);
      }
    }
  });
}
