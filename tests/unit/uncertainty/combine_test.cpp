// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/uncertainty/combine.h"

#include <doctest/doctest.h>

#include <cmath>
#include <vector>

#include "clockassay/estimate/student_t.h"
#include "support/approx.h"

namespace clockassay {
namespace {

TEST_CASE("combine: gives the example of JCGM 100 G.4.1") {
  // Three contributions in per cent. Published (quoted from memory): u_c =
  // 1.03 %, nu_eff = 19.0, t95 = 2.09, U95 = 2.2 %. By hand: u_c^2 = 0.0625 +
  // 0.3249 + 0.6724 = 1.0598; nu_eff = 1.0598^2 / (0.0625^2/9 + 0.3249^2/4 +
  // 0.6724^2/14) = 1.12318 / 0.059118 = 18.999.
  const std::vector<Contribution> c{{0.25, 9.0}, {0.57, 4.0}, {0.82, 14.0}};
  const Combined combined = combine(c);
  CHECK(combined.standard_uncertainty ==
        testing::approx(std::sqrt(1.0598)).epsilon(1e-14));
  REQUIRE(combined.dof);
  CHECK(std::abs(combined.standard_uncertainty - 1.03) < 0.005);
  CHECK(std::abs(*combined.dof - 19.0) < 0.05);
  const double t = student_t_two_sided(0.95, std::round(*combined.dof));
  CHECK(std::abs(t - 2.09) < 0.005);
  CHECK(std::abs(t * combined.standard_uncertainty - 2.2) < 0.05);
}

TEST_CASE("combine: gives the end gauge of JCGM 100 H.1") {
  // u(d) is itself combined of three. Published: u(d) = 9.7 nm with 25.6
  // degrees of freedom, u_c = 32 nm, nu_eff = 16.7, truncated to 16,
  // t99(16) = 2.92, U99 = 93 nm. The inputs are the published ones, partly
  // rounded: u(d) has parts 13/sqrt(5) nm (24), 10/2.57 nm (5), 20/3 nm (8).
  const std::vector<Contribution> d{
      {13 / std::sqrt(5.0), 24.0}, {10 / 2.57, 5.0}, {20.0 / 3, 8.0}};
  const Combined u_d = combine(d);
  REQUIRE(u_d.dof);
  CHECK(std::abs(u_d.standard_uncertainty - 9.7) < 0.05);
  CHECK(std::abs(*u_d.dof - 25.6) < 0.05);

  // Length 50.000623 mm: thermal expansion difference 1e-6/K over sqrt(3),
  // times 0.1 K; temperature difference 0.05 K over sqrt(3), times 11.5e-6/K.
  const double length_nm = 50.000623e6;
  const std::vector<Contribution> c{
      {25.0, 18.0},
      {u_d.standard_uncertainty, u_d.dof},
      {length_nm * 0.1 * 1e-6 / std::sqrt(3.0), 50.0},
      {length_nm * 11.5e-6 * 0.05 / std::sqrt(3.0), 2.0}};
  const Combined combined = combine(c);
  REQUIRE(combined.dof);
  CHECK(std::abs(combined.standard_uncertainty - 32) < 0.5);
  // The unrounded u_c must go into nu_eff: with the rounded 32 it is 17.5.
  CHECK(std::abs(*combined.dof - 16.7) < 0.1);
  CHECK(std::floor(*combined.dof) == 16.0);
  const double t = student_t_two_sided(0.99, std::floor(*combined.dof));
  CHECK(std::abs(t - 2.92) < 0.005);
  // The publication multiplies its rounded 32 nm: 93.4; unrounded 92.5.
  CHECK(std::round(t * std::round(combined.standard_uncertainty)) == 93.0);
}

TEST_CASE("combine: without degrees of freedom there are infinitely many") {
  const std::vector<Contribution> c{{3.0, std::nullopt}, {4.0, std::nullopt}};
  const Combined combined = combine(c);
  CHECK(combined.standard_uncertainty == 5.0);
  CHECK_FALSE(combined.dof);
}

TEST_CASE("combine: one contribution keeps its degrees of freedom") {
  // A fourth power of 1e-200 would be zero.
  const std::vector<Contribution> c{{1e-200, 7.0}, {0.0, 1.0}};
  const Combined combined = combine(c);
  CHECK(combined.standard_uncertainty == 1e-200);
  REQUIRE(combined.dof);
  CHECK(*combined.dof == testing::approx(7.0).epsilon(1e-15));
}

}  // namespace
}  // namespace clockassay
