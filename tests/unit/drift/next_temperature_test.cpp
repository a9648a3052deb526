// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/drift/next_temperature.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>

#include "support/approx.h"
#include "unit/drift/series.h"

using namespace clockassay;
using namespace clockassay::testing;

namespace {

// U at the worst case of a whole new choice, with a point more on the curve.
double expanded_with(const DriftAssay& assay, const RangeLimits& limits,
                     double t) {
  const BandPlace worst =
      worst_of(band_over(assay.choice, limits.range, limits.relative_to_c));
  auto more = assay.points;
  more.push_back(more[0]);
  more.back().temperature_c = t;
  CurvePlace place;
  place.temperature_c = t;
  // A visit of its own, even where there is a reading already: before all
  // others, or after them.
  for (std::size_t i = 0; i < more.size(); ++i) {
    more[i].time_s = static_cast<double>(i + 1);
  }
  if (t > 25.0) more.back().time_s = 0.0;
  more.back().error = Ppm(curve_at(chosen_fit(assay), place).value);
  auto choice = choose_curve(more, {}, assay.instrument, 0.95);
  REQUIRE(choice);
  choice->chosen = assay.choice.chosen;
  place.temperature_c = worst.temperature_c;
  place.relative_to_c = limits.relative_to_c;
  return curve_at(*choice, place).expanded;
}

}  // namespace

TEST_CASE("next_temperatures: what a point does, as of a whole new fit") {
  const auto noise = [](double t) { return 0.1 * std::sin(1.7 * t); };
  for (const bool bent : {false, true}) {
    const auto curve = [&](double t) {
      return (bent ? -0.035 * (t - 25) * (t - 25) : 0.3 * t) + noise(t);
    };
    for (const InstrumentTerms& instrument :
         {kPerfectInstrument, InstrumentTerms{Ppm(2.0), Ppm(0.1)}}) {
      const DriftAssay assay =
          assay_of(points_on(curve, -20, 70, 10, Ppm(0.2)), instrument);
      REQUIRE(chosen_fit(assay).scatter == Scatter::kAsStated);
      const RangeLimits limits{{-20.0, 70.0},
                               Ppm(-100),
                               Ppm(100),
                               bent ? std::optional(25.0) : std::nullopt};
      const auto next = next_temperatures(assay, limits);
      REQUIRE_FALSE(next.empty());
      CHECK(next.size() <= 3);
      for (const NextTemperature& one : next) {
        // Linear, so the same to rounding of the fits.
        CHECK(one.expanded_after_ppm ==
              testing::approx(expanded_with(assay, limits, one.temperature_c))
                  .epsilon(1e-9));
        CHECK(one.expanded_after_ppm >= next[0].expanded_after_ppm);
      }
      for (double t = -20.0; t <= 70.0; t += 1.40625) {  // all that are tried
        CHECK(expanded_with(assay, limits, t) >=
              next[0].expanded_after_ppm * (1.0 - 1e-9));
      }
    }
  }
}

TEST_CASE("next_temperatures: a point that is not there makes no scatter") {
  // Scatter three times what is stated. If the made-up point on the curve were
  // counted, a chi-squared just too large were none any more.
  const auto points =
      points_on([](double t) { return 0.3 * t + 0.3 * std::sin(1.7 * t); }, 0,
                60, 13, Ppm(0.1));
  const DriftAssay assay = assay_of(points);
  REQUIRE(chosen_fit(assay).scatter == Scatter::kTooLarge);
  const RangeLimits limits{{0.0, 60.0}, Ppm(-100), Ppm(100), {}};
  const auto next = next_temperatures(assay, limits);
  REQUIRE_FALSE(next.empty());
  // A thirteenth more of all that is known of a place lowers U by no more than
  // one point there itself would: 1/sqrt(2) where it had the leverage of one.
  CHECK(next[0].expanded_after_ppm >
        next[0].expanded_before_ppm / std::sqrt(2.0));
}

TEST_CASE("next_temperatures: a first row without a time is no trouble") {
  auto points = points_on([](double t) { return 0.3 * t; }, 0, 60, 7, Ppm(0.1));
  points.back().time_s = 60.0;
  const RangeLimits limits{{0.0, 60.0}, Ppm(-100), Ppm(100), {}};
  const DriftAssay assay = assay_of(points);
  CHECK_FALSE(next_temperatures(assay, limits).empty());
  // And it is said that the time has no effect.
  CHECK(std::any_of(assay.caveats.begin(), assay.caveats.end(),
                    [](const std::string& c) {
                      return c.starts_with(
                          "The times are not used, because 1 "
                          "of 7 points state their time");
                    }));
}
