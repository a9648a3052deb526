// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/estimate/error_course.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <random>
#include <vector>

#include "clockassay/estimate/edge_sums.h"
#include "support/test_stretch.h"
#include "support/two_threads.h"

using namespace clockassay;

TEST_CASE("course_of: least and greatest of every part, every cycle once") {
  constexpr std::uint64_t kSeed = 4;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  const SampledEdges e = sample_edges(40.4, 0.5, 0.3, 9999, random);
  const TestStretch s = stretch_from_edges(e.rises, e.falls, 512);
  const EdgeView view(s.stretch);
  const auto sums = sum_edges(view, serial_for);
  REQUIRE(sums);
  const TimeIntervalErrors errors(view, *sums, 0.01, 3.0);
  std::vector<double> all(static_cast<std::size_t>(errors.count()));
  errors.read(0, all);
  for (const std::size_t parts : {1u, 2u, 7u, 64u, 4096u, 20000u}) {
    CAPTURE(parts);
    const auto course = course_of(errors, parts, serial_for);
    REQUIRE(!course.empty());
    CHECK(course.size() <= parts);
    std::int64_t next = 0;
    for (const ErrorPart& part : course) {
      CHECK(part.first == next);
      next = part.first + part.count;
      const auto from = all.begin() + part.first;
      CHECK(part.least == *std::min_element(from, from + part.count));
      CHECK(part.most == *std::max_element(from, from + part.count));
    }
    CHECK(next == errors.count());
    const auto again = course_of(errors, parts, two_threads);
    REQUIRE(again.size() == course.size());
    for (std::size_t i = 0; i < course.size(); ++i) {
      CHECK(again[i].least == course[i].least);
      CHECK(again[i].most == course[i].most);
    }
  }
}
