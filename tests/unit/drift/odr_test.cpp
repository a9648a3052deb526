// SPDX-License-Identifier: GPL-3.0-or-later
#include <doctest/doctest.h>

#include <cmath>
#include <fstream>
#include <nlohmann/json.hpp>

#include "clockassay/drift/curve.h"
#include "support/approx.h"

using namespace clockassay;
using nlohmann::json;

namespace {

json odr_cases() {
  std::ifstream file(CLOCKASSAY_SOURCE_DIR "/testdata/drift/odr.json");
  REQUIRE(file.good());
  return json::parse(file)["cases"];
}

std::vector<DriftPoint> points_of(const json& made) {
  std::vector<DriftPoint> points(made["temperature_c"].size());
  for (std::size_t i = 0; i < points.size(); ++i) {
    points[i].temperature_c = made["temperature_c"][i].get<double>();
    points[i].u_temperature_c = made["u_temperature_c"][i].get<double>();
    points[i].error = Ppm(made["error_ppm"][i].get<double>());
    points[i].u = Ppm(made["u_ppm"][i].get<double>());
  }
  return points;
}

}  // namespace

// scipy.odr minimises the same sum over curve and true temperatures by another
// method (Levenberg and Marquardt, ODRPACK). Its derivatives are numerical:
// 1e-7 of an uncertainty is what that leaves at the minimum; its covariance is
// of them too, to 1e-6.
TEST_CASE("fit_curve: errors of the temperatures as scipy.odr has them") {
  const std::pair<const char*, CurveModel> models[] = {
      {"line", CurveModel::kLine},
      {"parabola", CurveModel::kParabola},
      {"cubic", CurveModel::kCubic}};
  const json cases = odr_cases();
  for (const auto& each : models) {
    const char* name = each.first;
    const CurveModel model = each.second;
    CAPTURE(name);
    const json& made = cases[name];
    const auto fit =
        fit_curve(points_of(made), model, {}, {Ppm(0.0), Ppm(0.0)}, 0.95);
    REQUIRE(fit);
    CHECK(fit->converged);
    CHECK(fit->scatter == Scatter::kAsStated);
    CHECK(fit->chi_squared ==
          testing::approx(made["chi_squared"].get<double>()).epsilon(1e-9));
    const auto coefficients = curve_coefficients(*fit, 25.0);
    REQUIRE(coefficients.size() == made["beta"].size());
    for (std::size_t k = 0; k < coefficients.size(); ++k) {
      CAPTURE(k);
      const double sd = made["sd"][k].get<double>();
      CHECK(std::abs(coefficients[k].value - made["beta"][k].get<double>()) <=
            1e-5 * sd);
      CHECK(coefficients[k].standard == testing::approx(sd).epsilon(1e-6));
    }
  }
}
