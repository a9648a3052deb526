// SPDX-License-Identifier: GPL-3.0-or-later
#include "edges/cycle_line.h"

#include <doctest/doctest.h>

#include <cmath>

#include "support/approx.h"

using namespace clockassay;

TEST_CASE("fit_cycle_line: one slope, an intercept per polarity, the scatter") {
  // Rises 0 10 20, falls 4 14 24 but for the last, 3 late: three falls about
  // their mean line. Slope: (200 + ... ) by moments: rises kk 2, kt 20; falls
  // kk 2, kt 23: 43/4. Means 10 and 15: intercepts 10 - 43/4, 15 - 43/4.
  const std::vector<NumberedEdge> rise = {{0, 0}, {1, 10}, {2, 20}};
  const std::vector<NumberedEdge> fall = {{0, 4}, {1, 14}, {2, 27}};
  const CycleLine line = fit_cycle_line(rise, fall);
  CHECK(line.period == testing::approx(10.75));
  CHECK(line.rise_intercept == testing::approx(-0.75));
  CHECK(line.fall_intercept == testing::approx(4.25));
  // Residuals 0.75 0 -0.75 and -0.25 -1 1.25: squares 1.125 + 2.625 over 6.
  CHECK(line.scatter == testing::approx(std::sqrt(3.75 / 6.0)));
}

TEST_CASE("clip_outliers: takes what is off by more than jitter, no more") {
  // 100 cycles of 40 ticks alternately on the line and 1 tick late: deviations
  // of 0.5, limit 6 * 1.4826 * 0.5 = 4.4 ticks.
  std::vector<NumberedEdge> rise, fall;
  for (std::int64_t k = 0; k < 100; ++k) {
    rise.push_back({k, 40 * k + k % 2});
    fall.push_back({k, 40 * k + 20 + k % 2});
  }
  rise[30].tick += 4;
  rise[60].tick += 7;
  fall[70].tick -= 8;
  const auto removed = clip_outliers(rise, fall, 1.0);
  CHECK(removed == std::vector<std::int64_t>{40 * 60 + 7, 40 * 70 + 20 - 8});
  CHECK(rise.size() == 99);
  CHECK(fall.size() == 99);
}

TEST_CASE("clip_outliers: without jitter a window and a half is allowed") {
  std::vector<NumberedEdge> rise, fall;
  for (std::int64_t k = 0; k < 100; ++k) rise.push_back({k, 40 * k});
  rise[50].tick += 1;
  CHECK(clip_outliers(rise, fall, 1.0).empty());
  rise[50].tick += 1;
  CHECK(clip_outliers(rise, fall, 1.0) == std::vector<std::int64_t>{2002});
}

TEST_CASE("clip_outliers: an evenly filled window ends at its edges") {
  // Residuals of 400 cycles: -0.495, -0.485 … 0.495 windows, in an order that
  // has no slope to speak of, and one outside the window. With 1 + 3 + 3
  // reckoned with, the jitter is at most 1.2533 * 7 / 400 = 0.0219 windows, and
  // the limit 0.55 + 0.13.
  const auto edges = [](std::int64_t late) {
    std::vector<NumberedEdge> rise;
    for (std::int64_t k = 0; k < 400; ++k) {
      rise.push_back({k, 40000 * k + 10 * (k * 37 % 100) - 495});
    }
    rise[200].tick = 40000 * 200 + late;
    return rise;
  };
  std::vector<NumberedEdge> none;
  auto kept = edges(660), clipped = edges(700);
  CHECK(clip_outliers(kept, none, 1000.0).empty());
  CHECK(clip_outliers(clipped, none, 1000.0).size() == 1);
}

TEST_CASE("clip_suspects: takes only suspects, and these at half a window") {
  std::vector<NumberedEdge> rise, fall;
  for (std::int64_t k = 0; k < 100; ++k) rise.push_back({k, 40 * k});
  rise[30].tick += 1;
  rise[60].tick += 1;
  CHECK(clip_suspects(rise, fall, {}, 1.0).empty());
  CHECK(clip_suspects(rise, fall, {40 * 60 + 1, 40 * 70}, 1.0) ==
        std::vector<std::int64_t>{40 * 60 + 1});
  CHECK(rise.size() == 99);
}
