// SPDX-License-Identifier: GPL-3.0-or-later
// Loops over vectors against sums of one point after the other.
#include "clockassay/capture/offset_sums.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cstdint>
#include <cstdlib>
#include <vector>

#include "support/offset_cases.h"

using namespace clockassay;

TEST_CASE("sum_offsets: as one point after the other") {
  test::for_offsets([](const test::Offsets& offsets) {
    OffsetSums expected;
    for (std::size_t i = 0; i < offsets.size(); ++i) {
      const std::int64_t y = offsets[i];
      expected.y += y;
      expected.iy += static_cast<std::int64_t>(i) * y;
      expected.yy += y * y;
    }
    expected.low = *std::min_element(offsets.begin(), offsets.end());
    expected.high = *std::max_element(offsets.begin(), offsets.end());
    CHECK(sum_offsets(offsets) == expected);
  });
}

TEST_CASE("sum_steps: as one step after the other") {
  test::for_offsets([](const test::Offsets& offsets) {
    StepSums expected;
    std::vector<std::int64_t> steps;
    for (std::size_t i = 1; i < offsets.size(); ++i) {
      steps.push_back(std::int64_t{offsets[i]} - offsets[i - 1]);
      expected.squares += steps.back() * steps.back();
    }
    for (std::size_t i = 1; i < steps.size(); ++i) {
      const std::int64_t d = steps[i] - steps[i - 1];
      expected.pair_squares += d * d;
      expected.pair_peak = std::max(expected.pair_peak, std::abs(d));
    }
    if (!steps.empty()) {
      const auto [low, high] = std::minmax_element(steps.begin(), steps.end());
      expected.low = static_cast<std::int32_t>(*low);
      expected.high = static_cast<std::int32_t>(*high);
    }
    CHECK(sum_steps(offsets) == expected);
  });
}
