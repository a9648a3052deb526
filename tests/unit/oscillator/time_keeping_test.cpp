// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/oscillator/time_keeping.h"

#include <doctest/doctest.h>

#include <cmath>
#include <string>

#include "clockassay/base/quantity_text.h"
#include "clockassay/oscillator/requirements.h"
#include "support/load_vectors.h"

namespace clockassay {
namespace {

Rational ratio(Int128 num, Int128 den) {
  return Rational::make(num, den).value();
}

TEST_CASE("time_keeping_tolerance: what a ppm is in a day, a month, a year") {
  // Plain arithmetic, known everywhere: 1 ppm is 0.0864 s a day, 20 ppm 1.728 s
  // a day, 51.84 s in 30 days and 10.512 minutes in 365.
  struct Row {
    std::int64_t ppm;
    Rational per_day;
    Rational per_month;
    Rational per_year;
  };
  const Row rows[] = {
      {1, ratio(864, 10000), ratio(2592, 1000), ratio(31536, 1000)},
      {10, ratio(864, 1000), ratio(2592, 100), ratio(31536, 100)},
      {20, ratio(1728, 1000), ratio(5184, 100), ratio(63072, 100)},
      {50, ratio(432, 100), ratio(1296, 10), ratio(15768, 10)},
      {100, ratio(864, 100), ratio(2592, 10), ratio(31536, 10)},
  };
  for (const Row& row : rows) {
    CAPTURE(row.ppm);
    CHECK(time_keeping_tolerance(row.per_day, 1) == Rational(row.ppm));
    CHECK(time_keeping_tolerance(row.per_month, 30) == Rational(row.ppm));
    CHECK(time_keeping_tolerance(row.per_year, 365) == Rational(row.ppm));
  }
}

// Right to the tolerance of the trap, and what was printed is not.
void check_trap(const nlohmann::json& trap, double result) {
  const auto& right = trap["right"];
  const double tolerance = right["tol_abs"].get<double>();
  CHECK(std::abs(result - right["value"].get<double>()) <= tolerance);
  CHECK(std::abs(result - trap["wrong"]["value"].get<double>()) > tolerance);
}

TEST_CASE("time_keeping_tolerance: a load that drifts, in seconds a day") {
  // Own vector E20: 20 ppm/pF and 0.3 pF are 6 ppm; a second a day is
  // 1/0.0864 ppm.
  const auto& row = testing::load_vector("E20");
  const double pull = testing::input(row, "S") * testing::input(row, "dCL");
  const auto second = time_keeping_tolerance(1, 1);
  REQUIRE(second);
  testing::check_vector(row, "drift", pull / second->to_double());
}

TEST_CASE("traps of curves, requirements and carriers") {
  // X9a, X9b: a parabola about 25 degC, forum and web page (read; recomputed).
  const auto fork = [](double per_k2, double celsius) {
    return per_k2 * (celsius - 25.0) * (celsius - 25.0);
  };
  check_trap(testing::plan_trap("X9a"), fork(-0.04, 105.0));
  const auto& cold = testing::plan_trap("X9b");
  const double curvatures[] = {-0.035, -0.04};
  for (std::size_t i = 0; i < 2; ++i) {
    const double right = cold["right"]["value"][i].get<double>();
    CHECK(std::abs(fork(curvatures[i], -40.0) - right) <=
          cold["right"]["tol_abs"].get<double>());
  }
  CHECK(std::abs(fork(-0.04, -40.0)) >
        std::abs(cold["wrong"]["value"].get<double>()));
  // X12: 1.5 Mb/s and its tolerance, as our row of the standard has it.
  const auto& low_speed = testing::plan_trap("X12");
  const Requirement* device = find_requirement("usb-ls-device");
  REQUIRE(device != nullptr);
  REQUIRE(device->tolerance);
  const double rate = static_cast<double>(*device->nominal_hz) / 1e6;
  const double ends[] = {device->tolerance->low_ppm.to_double(),
                         device->tolerance->high_ppm.to_double()};
  for (std::size_t i = 0; i < 2; ++i) {
    const double end = rate * (1.0 + ends[i] * 1e-6);
    CHECK(std::abs(end - low_speed["right"]["value"][i].get<double>()) <=
          low_speed["right"]["tol_abs"].get<double>());
    CHECK(std::abs(end - low_speed["wrong"]["value"][i].get<double>()) > 1e-3);
  }
  // X13: a quarter of a per cent is for full-speed-only devices.
  CHECK(testing::plan_trap("X13")["wrong"].is_null());
  const Requirement* full = find_requirement("usb-fs-device");
  const Requirement* capable = find_requirement("usb-hs-capable-at-fs");
  REQUIRE(full != nullptr);
  REQUIRE(capable != nullptr);
  CHECK(full->tolerance->high_ppm == Rational(2500));
  CHECK(capable->tolerance->high_ppm == Rational(500));
  // X15: 909/4 lines of 4.5 MHz/286 (from memory: that it comes to the row's
  // figure, which is of a secondary text, is what is shown).
  const auto& carrier = testing::plan_trap("X15");
  const auto line = Rational::make(4'500'000, 286);
  REQUIRE(line);
  const auto hertz = multiply(*line, *Rational::make(909, 4));
  REQUIRE(hertz);
  MESSAGE("from memory, shown only: X15: ", carrier["right"]["value"].dump(),
          ", by the lines ", hertz->to_double());
  // A copy that has two figures for one clock: nothing of ours rests on it.
  // X16: values of strata that are swapped somewhere; no row of ours has any.
  CHECK(testing::plan_trap("X16")["right"] == "check ANSI T1.101");
  for (const Requirement& r : requirements()) {
    CHECK(r.id.find("stratum") == std::string_view::npos);
    if (r.nominal_hz) CHECK(*r.nominal_hz != 3'579'611);
    if (r.known_by == KnownBy::kMemory) CHECK_FALSE(r.may_decide);
  }
}

TEST_CASE("time_keeping_tolerance: misprints seen in public texts") {
  // "32.736 to 32.800 kHz, ±1 ppm" is ±32 Hz of 32768, 976.5625 ppm, which is
  // 84.375 s a day.
  CHECK(time_keeping_tolerance(ratio(84375, 1000), 1) == ratio(9765625, 10000));
  const auto& range = testing::plan_trap("X8");
  const auto off = divide(ratio(32800, 1), ratio(32768, 1));
  REQUIRE(off);
  check_trap(range, (off->to_double() - 1.0) * 1e6);
  // "20 ppm (0.00002 %)" and "0.05 % (50 ppm)" are 0.002 % and 500 ppm.
  CHECK(parse_fraction("0.002%") == Rational(20));
  CHECK(parse_fraction("0.05%") == Rational(500));
  // Traps X6a and X6b: what is right reads back as the ppm in the claim, what
  // was printed does not.
  const auto per_cent = [](const nlohmann::json& trap, const char* which) {
    return parse_fraction(trap[which]["value"].dump() + '%');
  };
  const auto& fifty = testing::plan_trap("X6a");
  CHECK(per_cent(fifty, "right") == Rational(50));
  CHECK(per_cent(fifty, "wrong") == Rational(500));
  const auto& twenty = testing::plan_trap("X6b");
  CHECK(per_cent(twenty, "right") == Rational(20));
  CHECK(per_cent(twenty, "wrong") != Rational(20));
}

TEST_CASE("time_keeping_tolerance: nothing and everything are refused") {
  for (const std::int64_t seconds : {0, 86400, 100000}) {
    const auto result = time_keeping_tolerance(seconds, 1);
    REQUIRE_FALSE(result.has_value());
    CHECK(
        result.error().message ==
        "time keeping: found " + std::to_string(seconds) +
            " s to gain or lose in 86400 s, expected more than 0 and less than "
            "all of it");
  }
}

}  // namespace
}  // namespace clockassay
