// SPDX-License-Identifier: GPL-3.0-or-later
#include "verdict/hypotheses.h"

#include <doctest/doctest.h>

#include <algorithm>

#include "unit/verdict/clock_under_test.h"

namespace clockassay {
namespace {

TEST_CASE("make_hypotheses: a suspect runs through the intended path") {
  const std::vector<Hypothesis> list =
      make_hypotheses(clock_of("24MHz / 3 * 42 / 4", "20ppm"),
                      {suspect_of("the former crystal", "16MHz", "50ppm")});
  REQUIRE(!list.empty());
  // 16 MHz / 3 * 42 / 4 = 56 MHz.
  CHECK(list[0].cause == "the clock comes from the former crystal (16 MHz)");
  CHECK(list[0].expression == "16 MHz / 3 * 42 / 4");
  CHECK(list[0].frequency_hz == Rational(56000000));
  CHECK(list[0].ratio == *Rational::make(2, 3));
  CHECK(list[0].slips == 1);
  CHECK(list[0].source_ppm.high_ppm == Rational(50));
}

TEST_CASE("make_hypotheses: a neighbour keeps the expected source") {
  const std::vector<Hypothesis> list =
      make_hypotheses(clock_of("24MHz / 3", "20ppm"), {});
  const auto found =
      std::find_if(list.begin(), list.end(), [](const Hypothesis& h) {
        return h.cause == "divider 3 counted as 4 (off by one)";
      });
  REQUIRE(found != list.end());
  CHECK(found->frequency_hz == Rational(6000000));
  CHECK(found->source_ppm.low_ppm == Rational(-20));
  CHECK(found->advice.find("n - 1") != std::string::npos);
}

TEST_CASE("make_hypotheses: both at once count as two slips") {
  const std::vector<Hypothesis> list =
      make_hypotheses(clock_of("24MHz / 3", "20ppm"),
                      {suspect_of("the former crystal", "16MHz", "50ppm")});
  const auto found =
      std::find_if(list.begin(), list.end(), [](const Hypothesis& h) {
        return h.slips == 2 && h.expression == "16 MHz / 4";
      });
  REQUIRE(found != list.end());
  CHECK(found->frequency_hz == Rational(4000000));
  CHECK(found->ratio == *Rational::make(1, 2));
  CHECK(found->source_ppm.high_ppm == Rational(50));
}

TEST_CASE("make_hypotheses: what is written of two slips gives their figure") {
  // Read back, it is the frequency that is named with it.
  for (const char* expect : {"24MHz / 3 * 42 / 4", "24000000/2*(40 + 3/8)",
                             " 2.4e7 / 24 * 2.5", "24MHz"}) {
    CAPTURE(expect);
    int pairs = 0;
    for (const Hypothesis& h : make_hypotheses(
             clock_of(expect, "20ppm"),
             {suspect_of("the former crystal", "16MHz", "50ppm")})) {
      if (h.slips != 2) continue;
      CAPTURE(h.expression);
      ++pairs;
      const Result<ClockPath> path = parse_clock_path(h.expression);
      REQUIRE(path);
      CHECK(path->frequency_hz == h.frequency_hz);
      CHECK(path->source_hz == Rational(16000000));
    }
    CHECK(pairs >= 2);
  }
}

TEST_CASE("make_hypotheses: a suspect at the expected frequency adds no pair") {
  // With the same frequency the pair would only repeat the neighbour.
  for (const Hypothesis& h :
       make_hypotheses(clock_of("24MHz / 3", "20ppm"),
                       {suspect_of("internal RC", "24MHz", "1.5%")})) {
    CHECK(h.slips == 1);
  }
}

}  // namespace
}  // namespace clockassay
