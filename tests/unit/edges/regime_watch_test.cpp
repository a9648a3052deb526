// SPDX-License-Identifier: GPL-3.0-or-later
#include "edges/regime_watch.h"

#include <doctest/doctest.h>

#include <initializer_list>
#include <optional>

using namespace clockassay;

namespace {

constexpr RegimeNow kNow{40.0, 0.3, 1.0};

/// A rising edge at 0, then one after each gap, all of them fitting; after how
/// many gaps another regime is seen.
std::optional<std::size_t> seen_after(std::initializer_list<std::int64_t> gaps,
                                      std::size_t rounds) {
  RegimeWatch watch;
  std::int64_t tick = 0;
  std::size_t n = 0;
  watch.fits();
  watch.rise(tick, n, false);
  for (std::size_t round = 0; round < rounds; ++round) {
    for (const std::int64_t gap : gaps) {
      tick += gap;
      ++n;
      watch.fits();
      watch.rise(tick, n, false);
      if (watch.change(kNow)) return n;
    }
  }
  return std::nullopt;
}

}  // namespace

TEST_CASE("RegimeWatch: equal gaps unlike the period, whatever they fit") {
  CHECK(seen_after({50}, 40) == 8);
  CHECK(seen_after({34, 33}, 40) == 8);
  CHECK(seen_after({53, 54, 53}, 40) == 8);
  CHECK(seen_after({120}, 40) == 8);
  // What damage makes more often asks for more.
  CHECK(seen_after({80}, 40) == 12);
  CHECK(seen_after({20}, 40) == 10);
  // And so do those near the period, which a line should have followed.
  CHECK(seen_after({43, 44}, 40) == 16);
  CHECK_FALSE(seen_after({41}, 40));
}

TEST_CASE("RegimeWatch: the period, and gaps that are not equal, go on") {
  CHECK_FALSE(seen_after({40}, 40));
  CHECK_FALSE(seen_after({39, 41, 40}, 40));
  // A glitch in every other cycle; a cycle lost in four.
  CHECK_FALSE(seen_after({13, 27, 40}, 40));
  CHECK_FALSE(seen_after({40, 40, 80}, 40));
}

TEST_CASE("RegimeWatch: gaps about the period are another's if half fit not") {
  for (const int fitting : {1, 2, 5}) {
    CAPTURE(fitting);
    RegimeWatch watch;
    std::optional<std::size_t> begin;
    for (std::size_t i = 0; i < 16 && !begin; ++i) {
      const bool fits = i % 6 < static_cast<std::size_t>(fitting);
      if (fits) {
        watch.fits();
      } else {
        watch.left_out(i);
      }
      watch.rise(static_cast<std::int64_t>(44 * i), i, !fits);
      begin = watch.change(kNow);
    }
    CHECK(begin.has_value() == (fitting <= 2));
  }
}

TEST_CASE("RegimeWatch: eight edges that fit nowhere are enough") {
  RegimeWatch watch;
  watch.fits();
  watch.rise(0, 0, false);
  for (std::size_t i = 1; i <= 8; ++i) {
    CHECK_FALSE(watch.change(kNow));
    watch.left_out(2 * i);
    watch.rise(20 + static_cast<std::int64_t>(40 * i), 2 * i, true);
  }
  CHECK(watch.change(kNow) == 2);
  watch.clear();
  CHECK_FALSE(watch.change(kNow));
}
