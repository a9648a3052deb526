// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/plan/path_plan.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <string>

#include "clockassay/base/quantity_text.h"
#include "support/approx.h"
#include "support/load_vectors.h"

namespace clockassay {
namespace {

using nlohmann::json;
using testing::check_vector;
using testing::input;
using testing::plan_vectors;

PathPlan planned(const std::string& expression, double tolerance = 100.0) {
  // By an instrument that is exact.
  const auto plan =
      plan_path(expression, {-tolerance, tolerance, false, 0.0, false});
  REQUIRE_MESSAGE(plan.has_value(), plan.error().message);
  return *plan;
}

const PathSlip* find(const PathPlan& plan, const std::string& description) {
  for (const PathSlip& s : plan.slips) {
    if (s.neighbour.description == description) return &s;
  }
  return nullptr;
}

TEST_CASE("plan_path: an off-by-one is the vector's") {
  // Derived: N/(N + 1) - 1. Only dividers of 2 and more are factors.
  int rows = 0;
  for (const json& row : plan_vectors()) {
    if (row["formula"] != "off_by_one") continue;
    const auto n = static_cast<std::int64_t>(input(row, "N"));
    const PathPlan plan = planned("48MHz / " + std::to_string(n));
    const PathSlip* slip =
        find(plan, "divider " + std::to_string(n) + " counted as " +
                       std::to_string(n + 1) + " (off by one)");
    REQUIRE(slip != nullptr);
    check_vector(row, "slow", slip->difference_ppm);
    ++rows;
  }
  CHECK(rows == 8);
}

TEST_CASE("plan_path: ratios of crystals and multiples, exactly") {
  // Derived, exact: another crystal on the path, and published outputs of PLLs
  // of a console clock study.
  int multiples = 0;
  for (const json& row : plan_vectors()) {
    CAPTURE(row.dump());
    if (row["formula"] == "mult") {
      const std::string f = row["inputs"]["f"]["value"].dump();
      const PathPlan plan =
          planned(f + "MHz * " + row["inputs"]["n"]["value"].dump() + " / " +
                  row["inputs"]["d"]["value"].dump());
      check_vector(row, "out", plan.path.frequency_hz.to_double() / 1e6);
      ++multiples;
    }
    if (row["formula"] == "fracn") {
      // N + K/2^k in parentheses: 19.2MHz * (104 + 2796202/16777216).
      const PathPlan plan =
          planned(row["inputs"]["ref"]["value"].dump() + "MHz * (" +
                  row["inputs"]["n"]["value"].dump() + " + " +
                  row["inputs"]["frac"]["value"].dump() + "/16777216)");
      check_vector(row, "vco", plan.path.frequency_hz.to_double() / 1e6);
      ++multiples;
    }
  }
  CHECK(multiples == 4);
}

TEST_CASE("plan_path: another crystal is told by an exact ratio") {
  // Derived, exact: the crystal that is fitted over the one assumed.
  int rows = 0;
  for (const json& row : plan_vectors()) {
    if (row["formula"] != "ratio") continue;
    CAPTURE(row["id"].get<std::string>());
    const auto frequency = [&row](const char* name) {
      return planned(row["inputs"][name]["value"].dump() + "MHz")
          .path.frequency_hz;
    };
    const auto ratio = divide(frequency("fitted"), frequency("assumed"));
    REQUIRE(ratio);
    CHECK(ratio->to_string() ==
          testing::claimed_value(row, "reduced").get<std::string>());
    const auto apart = subtract(*ratio, Rational(1));
    REQUIRE(apart);
    check_vector(row, "ppm", apart->to_double() * 1e6);
    ++rows;
  }
  CHECK(rows == 18);
}

TEST_CASE("plan_path: a fraction word is off by so much of the frequency") {
  // Trap X10 (an SoC maker's manual): its column of differences is the error of
  // N, not that of the frequency, N times less.
  CHECK(testing::plan_trap("X10")["wrong"].is_null());
  int rows = 0;
  for (const json& row : plan_vectors()) {
    if (row["formula"] != "fracn") continue;
    const std::string n = row["inputs"]["n"]["value"].dump();
    const PathPlan plan =
        planned(row["inputs"]["ref"]["value"].dump() + "MHz * (" + n + " + " +
                row["inputs"]["frac"]["value"].dump() + "/16777216)");
    const auto ratio = divide(plan.path.frequency_hz, Rational(2'000'000'000));
    REQUIRE(ratio);
    const auto off = subtract(*ratio, Rational(1));
    REQUIRE(off);
    check_vector(row, "rel", off->to_double());
    const double error_of_n = off->to_double() * 2000.0 / input(row, "ref");
    CHECK(std::abs(error_of_n) > 50.0 * std::abs(off->to_double()));
    ++rows;
  }
  CHECK(rows == 2);
}

TEST_CASE("plan_path: the nearest slip first, each with its own figures") {
  const PathPlan plan = planned("24MHz / 3 * 42 / 4");
  CHECK(plan.path.frequency_hz == Rational(84'000'000));
  CHECK(std::is_sorted(plan.slips.begin(), plan.slips.end(),
                       [](const PathSlip& a, const PathSlip& b) {
                         return std::abs(a.difference_ppm) <
                                std::abs(b.difference_ppm);
                       }));
  for (const PathSlip& s : plan.slips) {
    CAPTURE(s.neighbour.description);
    // The expression gives the frequency, and the ratio the difference.
    const auto again = parse_clock_path(s.neighbour.expression);
    REQUIRE(again);
    CHECK(again->frequency_hz == s.neighbour.frequency_hz);
    CHECK(s.difference_ppm ==
          testing::approx((s.neighbour.ratio.to_double() - 1) * 1e6));
  }
  CHECK(find(plan, "divider 3 missing") != nullptr);
  CHECK(find(plan, "multiplier 42 applied twice") != nullptr);
  CHECK(find(plan, "multiplier 42 counted as 41 (off by one)") != nullptr);
}

TEST_CASE("plan_path: a large divider off by one looks like a crystal") {
  // 1/48 001 = 20.8 ppm: within what two crystals of ±30 ppm differ by.
  const PathPlan plan = planned("48MHz / 48000", 30.0);
  CHECK(plan.slips.front().like_intended);
  CHECK(plan.slips.front().difference_ppm == testing::approx(-20.8329));
  // Of a source known to 10 ppm it does not.
  CHECK_FALSE(planned("48MHz / 48000", 10.0).slips.front().like_intended);
}

TEST_CASE("plan_path: the timebase and unequal limits count") {
  // -20.8 ppm: of a source of ±10 ppm seen through ±1 ppm it is told, through
  // the usual ±100 ppm it is not.
  PathSource source{-10.0, 10.0, false, 0.4, false};
  const auto like = [&source] {
    const auto plan = plan_path("48MHz / 48000", source);
    REQUIRE(plan);
    return plan->slips.front().like_intended;
  };
  CHECK_FALSE(like());
  source.timebase_ppm = 100.0;
  CHECK(like());
  // The slip is slow: what the source may be slow and fast by adds up, 20 and
  // no more.
  source = {-15.0, 5.0, false, 0.0, false};
  CHECK_FALSE(like());
  source = {-16.0, 5.0, false, 0.0, false};
  CHECK(like());
  // Nothing stated: both are assumed, and say so.
  const auto plan = plan_path("48MHz / 48000", {});
  REQUIRE(plan);
  CHECK(plan->source.is_assumed);
  CHECK(plan->source.timebase_is_assumed);
  CHECK(plan->slips.front().like_intended);
}

TEST_CASE("plan_path: slips that show the same are pointed out") {
  // Divider 2 missing, and twice the frequency: the same 12 MHz.
  const PathPlan plan = planned("12MHz / 2", 1.0);
  const bool same =
      std::any_of(plan.coincidences.begin(), plan.coincidences.end(),
                  [&](const PathCoincidence& c) {
                    return c.apart_ppm == 0.0 &&
                           plan.slips[c.first].neighbour.frequency_hz ==
                               plan.slips[c.second].neighbour.frequency_hz;
                  });
  CHECK(same);
  // Dividers 1000 and 1001, each one more: 999/1000 and 1000/1001 of the way,
  // 1/1001 - 1/1002 = 0.997 ppm apart.
  const PathPlan near = planned("100MHz / 1000 / 1001", 1.0);
  const bool found =
      std::any_of(near.coincidences.begin(), near.coincidences.end(),
                  [](const PathCoincidence& c) {
                    return c.apart_ppm > 0.99 && c.apart_ppm < 1.01;
                  });
  CHECK(found);
  for (const PathCoincidence& c :
       planned("100MHz / 1000 / 1001", 0.4).coincidences) {
    CHECK(c.apart_ppm < 0.8);
  }
}

TEST_CASE("plan_former: the old set-up beside the new one") {
  const PathPlan plan = planned("24MHz / 3");
  const auto former = plan_former(plan, "16MHz / 2");
  REQUIRE(former);
  CHECK(former->path.frequency_hz == Rational(8'000'000));
  // Firmware as it was: 24 MHz / 2. Crystal as it was: 16 MHz / 3.
  CHECK(former->unchanged.neighbour.frequency_hz == Rational(12'000'000));
  CHECK(former->unchanged.neighbour.expression == "24MHz / 2");
  CHECK(former->unchanged.neighbour.ratio.to_string() == "3/2");
  CHECK(former->old_source.neighbour.ratio.to_string() == "2/3");
  CHECK(former->old_source.neighbour.expression == "16MHz / 3");
  // 2 made 3 keeps 8 MHz.
  REQUIRE(former->keeps.size() == 1);
  CHECK(former->keeps[0].neighbour.expression == "24MHz / 3");
  CHECK(former->keeps[0].neighbour.ratio == Rational(1));
  // A source alone: through the settings that are planned.
  const auto bare = plan_former(planned("24MHz / 2 / 16"), "16MHz");
  REQUIRE(bare);
  CHECK(bare->path.frequency_hz == Rational(500'000));
  CHECK(bare->unchanged.neighbour.ratio == Rational(1));
  CHECK(bare->old_source.neighbour.ratio.to_string() == "2/3");
  REQUIRE(bare->keeps.size() == 2);
  CHECK(bare->keeps[0].neighbour.expression == "24MHz / 3 / 16");
  CHECK(bare->keeps[1].neighbour.expression == "24MHz / 2 / 24");
  // 25/16 of two is no whole divider.
  const auto odd = plan_former(planned("25MHz / 2"), "16MHz / 2");
  REQUIRE(odd);
  CHECK(odd->keeps.empty());
  CHECK_FALSE(plan_former(plan, "16 mHz").has_value());
}

TEST_CASE("plan_path: what is no path is refused") {
  CHECK_FALSE(plan_path("24MHz / 0", {}).has_value());
  CHECK_FALSE(plan_path("24 mHz", {}).has_value());
}

}  // namespace
}  // namespace clockassay
