// SPDX-License-Identifier: GPL-3.0-or-later
// Vectors of testdata/oscillator/plan-vectors.json that speak of causes.
#include <doctest/doctest.h>

#include <algorithm>
#include <cstdint>
#include <string>
#include <utility>
#include <vector>

#include "clockassay/verdict/source_group.h"
#include "support/load_vectors.h"
#include "unit/verdict/clock_under_test.h"
#include "verdict/hypotheses.h"

namespace clockassay {
namespace {

using testing::check_vector;
using testing::input;
using testing::plan_vector;
using testing::plan_vectors;

MeasuredClock measured(const ClockSpec& spec, double hertz, double U_ppm) {
  MeasuredClock clock;
  clock.spec = &spec;
  clock.frequency = Hertz(hertz);
  clock.expanded = Ppm(U_ppm);
  clock.expanded_capture = Ppm(U_ppm);
  return clock;
}

double error_ppm(double hertz, double nominal) {
  return (hertz / nominal - 1.0) * 1e6;
}

}  // namespace

TEST_CASE("append_usual: a loop on a watch crystal has the nearest multiple") {
  int rows = 0;
  for (const auto& row : plan_vectors()) {
    if (row["formula"] != "fll") continue;
    ++rows;
    const auto f = static_cast<std::int64_t>(input(row, "f"));
    std::vector<Hypothesis> list;
    append_usual(clock_of(std::to_string(f) + "Hz", "10ppm"), {}, list);
    const auto loop =
        std::find_if(list.begin(), list.end(), [](const Hypothesis& h) {
          return h.code == CauseCode::kLoopOnWatchCrystal;
        });
    REQUIRE(loop != list.end());
    check_vector(row, "multiple",
                 loop->frequency_hz.to_double() / input(row, "ref"));
    check_vector(row, "ppm", (loop->ratio.to_double() - 1.0) * 1e6);
  }
  CHECK(rows == 7);
}

TEST_CASE("group_by_source: two crystals are no one source (vector K5)") {
  const auto& row = plan_vector("K5");
  const double a = input(row, "meas_a");
  const double b = input(row, "meas_b");
  const double nominal = input(row, "nom");
  check_vector(row, "a", error_ppm(a, nominal));
  check_vector(row, "b", error_ppm(b, nominal));
  const std::string expect = "59.8261054535Hz";
  const ClockSpec one = clock_of(expect, "100ppm");
  const ClockSpec other = clock_of(expect, "100ppm");
  constexpr double kU = 1.0;  // ppm, far below the 6.7 between the two
  const std::vector<MeasuredClock> apart{measured(one, a, kU),
                                         measured(other, b, kU)};
  auto groups = group_by_source(apart);
  REQUIRE(groups.size() == 1);
  CHECK_FALSE(groups[0].agree);
  // Each beside another output of its own crystal, which read 26.7 and 20.0.
  for (const auto& [measured_hz, crystal_ppm] :
       {std::pair{a, 26.7}, std::pair{b, 20.0}}) {
    const std::vector<MeasuredClock> same{
        measured(one, measured_hz, kU),
        measured(other, nominal * (1.0 + crystal_ppm * 1e-6), kU)};
    groups = group_by_source(same);
    REQUIRE(groups.size() == 1);
    CHECK(groups[0].agree);
  }
}

TEST_CASE(
    "judge_clock: a clock spread downwards is off by half its depth (H17)") {
  const auto& row = plan_vector("H17");
  const double depth = input(row, "high") - input(row, "low");
  check_vector(row, "mean", -0.5 * depth);
  const double mean = row["expected"]["mean"]["value"].get<double>();
  ClockEvidence evidence = evidence_of(48e6 * (1.0 + mean * 1e-6), 2.0);
  SpreadSpectrum spread;
  spread.rate = Hertz(31e3);
  spread.rate_uncertainty = Hertz(1.0);
  spread.depth = Ppm(depth);
  spread.depth_uncertainty = Ppm(20.0);
  evidence.spread = spread;
  const Verdict v = judge_clock(clock_of("48MHz", "50ppm"), {}, evidence);
  REQUIRE(!v.causes.empty());
  CHECK(v.causes[0].code == CauseCode::kSpreadSpectrum);
  CHECK(v.causes[0].rank == 1);
}

}  // namespace clockassay
