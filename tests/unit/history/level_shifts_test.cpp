// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/history/level_shifts.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <random>
#include <vector>

#include "support/approx.h"

namespace clockassay {
namespace {

std::vector<double> scatter(std::mt19937_64& random, std::size_t count,
                            bool heavy) {
  std::normal_distribution<double> normal;
  std::student_t_distribution<double> student(3.0);
  std::vector<double> values;
  for (std::size_t i = 0; i < count; ++i) {
    values.push_back(heavy ? student(random) : normal(random));
  }
  return values;
}

}  // namespace

TEST_CASE("fewest_for_a_shift: a clean cut and its mirror are rare enough") {
  // Two of 8 over 4, 70, are below 0.05, of 7 over 3, 35, not; of 10 over 5,
  // 252, below 0.01, of 9 over 4, 126, not; of 14 over 7, 3432, below a
  // thousandth, of 13 over 6, 1716, not.
  CHECK(fewest_for_a_shift({.alarms = 0.05}) == 8);
  CHECK(fewest_for_a_shift({.alarms = 0.01}) == 10);
  CHECK(fewest_for_a_shift({.alarms = 0.001}) == 14);
  // Six have 20 orders, but a level has three at least.
  CHECK(fewest_for_a_shift({.alarms = 0.5}) == 6);
  // Of fewer there is none, whichever orders are drawn.
  const std::vector<double> seven = {1, 1, 1, 5, 5, 5, 5};
  CHECK(find_level_shifts(seven, {.alarms = 0.05}).empty());
  // And then there is one.
  const std::vector<double> clean = {1, 1, 1, 1, 5, 5, 5, 5};
  CHECK(find_level_shifts(clean, {.alarms = 0.05}).size() == 1);
}

TEST_CASE("find_level_shifts: a step of 3 ppm in 60 builds") {
  // Builds scatter by 1 ppm; after the 37th they are 3 ppm higher.
  constexpr unsigned kSeed = 3;
  constexpr int kTrials = 50;
  constexpr std::size_t kStep = 37;
  std::mt19937_64 random(kSeed);
  int found = 0;
  int held = 0;
  for (int i = 0; i < kTrials; ++i) {
    auto values = scatter(random, 60, false);
    for (std::size_t j = kStep; j < values.size(); ++j) values[j] += 3.0;
    const auto shifts = find_level_shifts(values);
    REQUIRE(!shifts.empty());
    // A further step is an alarm, one time in a hundred or so.
    const auto largest = std::max_element(
        shifts.begin(), shifts.end(), [](const auto& a, const auto& b) {
          return std::abs(a.after - a.before) < std::abs(b.after - b.before);
        });
    const auto first = static_cast<double>(largest->first);
    found += std::abs(first - static_cast<double>(kStep)) <= 2.0;
    held +=
        std::abs(largest->after - largest->before - 3.0) <= largest->expanded;
  }
  CAPTURE(kSeed);
  // Of steps of three deviations nine in ten are placed within two values
  // (a value on the wrong side is 1.5 deviations off the middle): four
  // deviations below.
  CHECK(found >= 0.9 * kTrials - 4.0 * std::sqrt(0.9 * 0.1 * kTrials));
  // U is of the means as they were cut; 95 % less four deviations.
  CHECK(held >= 0.95 * kTrials - 4.0 * std::sqrt(0.95 * 0.05 * kTrials));
}

TEST_CASE("find_level_shifts: alarms in clean histories are as many as asked") {
  // Whatever the distribution: all orders of values of one level are alike.
  constexpr unsigned kSeed = 5;
  constexpr int kTrials = 400;
  for (const bool heavy : {false, true}) {
    std::mt19937_64 random(kSeed);
    int alarms = 0;
    for (int i = 0; i < kTrials; ++i) {
      alarms +=
          !find_level_shifts(scatter(random, 60, heavy), {0.05, 3}).empty();
    }
    CAPTURE(kSeed);
    CAPTURE(heavy);
    const double spread = 4.0 * std::sqrt(0.05 * 0.95 * kTrials);
    CHECK(alarms <= 0.05 * kTrials + spread);
    CHECK(alarms >= 0.05 * kTrials - spread);
  }
}

TEST_CASE("find_level_shifts: two steps, and none in what never moves") {
  std::vector<double> values;
  for (int i = 0; i < 30; ++i) {
    const double level = i < 10 ? 0.0 : i < 20 ? 5.0 : 2.0;
    values.push_back(level + (i % 2 == 0 ? 0.1 : -0.1));
  }
  const auto shifts = find_level_shifts(values);
  REQUIRE(shifts.size() == 2);
  CHECK(shifts[0].first == 10);
  CHECK(shifts[1].first == 20);
  CHECK(shifts[0].after - shifts[0].before == testing::approx(5.0));
  CHECK(find_level_shifts(std::vector<double>(30, 1.0)).empty());
  CHECK(find_level_shifts(std::vector<double>{1.0, 9.0}).empty());
  // One value apart is an outlier, no level.
  std::vector<double> outlier(20, 1.0);
  outlier[7] = 40.0;
  CHECK(find_level_shifts(outlier).empty());
}

}  // namespace clockassay
