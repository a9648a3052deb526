// SPDX-License-Identifier: GPL-3.0-or-later
// Loops over vectors against sums of one point after the other.
#include "estimate/steady_sums.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cstdint>
#include <vector>

#include "support/offset_cases.h"

using namespace clockassay;

TEST_CASE("offset_range, offsets_beyond: as one offset after the other") {
  test::for_offsets([](const test::Offsets& offsets) {
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
