// SPDX-License-Identifier: GPL-3.0-or-later
#include "drift/least_squares.h"

#include <doctest/doctest.h>

#include <cmath>
#include <string>

#include "unit/drift/table.h"

using namespace clockassay;

namespace {

// Half a unit of the fifteenth digit, which is the last that is certified.
void check_certified(Real value, const std::string& certified) {
  CAPTURE(certified);
  const Real expected = std::stold(certified);
  CHECK(std::abs(value - expected) <= 0.5e-14L * std::abs(expected));
}

struct NoIntercept {
  LinearFit fit;
  Real slope_sd, residual_sd;
};

NoIntercept fit_through_origin(const std::string& file) {
  Columns design(1);
  std::vector<Real> response, variance;
  for (const auto& row : testing::drift_table(file)) {
    response.push_back(row[0]);
    design[0].push_back(row[1]);
    variance.push_back(1.0L);
  }
  auto fit = solve_weighted(design, response, variance);
  REQUIRE(fit);
  const Real dof = static_cast<Real>(response.size()) - 1.0L;
  const Real sd = std::sqrt(fit->chi_squared / dof);
  Real sum = 0.0L;
  for (const Real w : fit->weights[0]) sum += w * w;
  return {*fit, sd * std::sqrt(sum), sd};
}

}  // namespace

// NIST Statistical Reference Datasets, linear regression, NoInt1 and NoInt2:
// data and certified values of https://www.itl.nist.gov/div898/strd/, whose
// inputs are whole numbers, so that nothing is lost before the fit.
TEST_CASE("solve_weighted: NIST StRD NoInt1 and NoInt2 to the last digit") {
  const NoIntercept one = fit_through_origin("noint1.csv");
  check_certified(one.fit.parameters[0], "2.07438016528926");
  check_certified(one.slope_sd, "0.165289256198347E-01");
  check_certified(one.residual_sd, "3.56753034006338");
  check_certified(one.fit.chi_squared, "127.272727272727");
  const NoIntercept two = fit_through_origin("noint2.csv");
  check_certified(two.fit.parameters[0], "0.727272727272727");
  check_certified(two.slope_sd, "0.420827318078432E-01");
  check_certified(two.residual_sd, "0.369274472937998");
  check_certified(two.fit.chi_squared, "0.272727272727273");
}

TEST_CASE("solve_weighted: a weight of four is the point four times") {
  const Columns once = {{1, 1, 1, 1}, {0, 1, 2, 4}};
  const std::vector<Real> y = {1, 3, 2, 7};
  const auto weighted =
      solve_weighted(once, y, std::vector<Real>{1, 1, 0.25L, 1});
  const Columns many = {{1, 1, 1, 1, 1, 1, 1}, {0, 1, 2, 2, 2, 2, 4}};
  const auto repeated = solve_weighted(
      many, std::vector<Real>{1, 3, 2, 2, 2, 2, 7}, std::vector<Real>(7, 1));
  REQUIRE(weighted);
  REQUIRE(repeated);
  for (std::size_t j = 0; j < 2; ++j) {
    CHECK(std::abs(weighted->parameters[j] - repeated->parameters[j]) < 1e-14L);
  }
  // Leverages of all points sum to the number of parameters.
  Real sum = 0.0L;
  for (const Real h : weighted->leverage) sum += h;
  CHECK(std::abs(sum - 2.0L) < 1e-14L);
  // The weights of the points give the parameters back.
  for (std::size_t j = 0; j < 2; ++j) {
    Real value = 0.0L;
    for (std::size_t i = 0; i < y.size(); ++i) {
      value += weighted->weights[j][i] * y[i];
    }
    CHECK(std::abs(value - weighted->parameters[j]) < 1e-14L);
  }
}

TEST_CASE("solve_weighted: what the points cannot tell apart is no result") {
  const std::vector<Real> y = {1, 2, 3};
  const std::vector<Real> variance(3, 1.0L);
  CHECK_FALSE(solve_weighted({{1, 1, 1}, {2, 2, 2}}, y, variance));
  CHECK_FALSE(solve_weighted({{1, 1, 1}, {0, 1, 2}, {0, 1, 4}, {0, 1, 8}}, y,
                             variance));
  CHECK(solve_weighted({{1, 1, 1}, {0, 1, 2}, {0, 1, 4}}, y, variance));
}
