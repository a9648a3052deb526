// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/history/control_limits.h"

#include <doctest/doctest.h>

#include <cmath>
#include <vector>

#include "support/approx.h"

namespace clockassay {

TEST_CASE("control_limits: a worked example of an individuals chart") {
  // NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2, ten batches: data
  // and limits from memory. They agree with each other: the mean is a tenth of
  // the sum, the mean range 16.9/9, and d2 the handbook's three decimals,
  // 1.128.
  const std::vector<double> values = {49.6, 47.6, 49.9, 51.3, 47.8,
                                      51.2, 52.6, 52.4, 53.6, 52.1};
  const auto limits = control_limits(values);
  REQUIRE(limits);
  CHECK(limits->centre == testing::approx(50.81).epsilon(1e-12));
  const double range = 16.9 / 9.0;
  const double d2 = 2.0 / std::sqrt(std::acos(-1.0));
  CHECK(limits->high == testing::approx(50.81 + 3.0 * range / d2));
  CHECK(limits->low == testing::approx(50.81 - 3.0 * range / d2));
  // Four decimals of the handbook are those of 1.128 for 1.12838.
  CHECK(std::abs(limits->high - 55.8041) <
        5.0 * (1.12838 / 1.128 - 1.0) + 5e-5);
  CHECK(std::abs(limits->low - 45.8159) < 5.0 * (1.12838 / 1.128 - 1.0) + 5e-5);
}

TEST_CASE("control_limits: of equal values none is beyond") {
  for (std::size_t n = 3; n <= 60; ++n) {
    const std::vector<double> values(n, 8.94);
    const auto limits = control_limits(values);
    REQUIRE(limits);
    CHECK(limits->low == 8.94);
    CHECK(limits->high == 8.94);
  }
}

TEST_CASE("control_limits: what is too short has none") {
  CHECK_FALSE(control_limits(std::vector<double>{1.0, 2.0}));
  CHECK(control_limits(std::vector<double>{1.0, 2.0, 1.5}));
}

}  // namespace clockassay
