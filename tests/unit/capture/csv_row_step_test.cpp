// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/csv_row_step.h"

#include <doctest/doctest.h>

#include <cstdint>
#include <optional>
#include <vector>

#include "capture/power_of_ten.h"

using clockassay::CsvRowStep;
using clockassay::fit_row_step;
using clockassay::power_of_ten;
using clockassay::Rational;

namespace {

// floor(n * num / den), n from 0 on.
std::vector<std::int64_t> stamps(std::int64_t num, std::int64_t den,
                                 std::int64_t rows) {
  std::vector<std::int64_t> times;
  for (std::int64_t n = 0; n < rows; ++n) times.push_back(n * num / den);
  return times;
}

// Of times in ns, in Hz.
std::optional<Rational> rate_of(const std::vector<std::int64_t>& times) {
  const auto fit = fit_row_step(times, 1, power_of_ten(-9));
  if (!fit) return std::nullopt;
  return divide(power_of_ten(9), fit->step.interval());
}

}  // namespace

TEST_CASE("CsvRowStep: whole intervals are counted, others are none") {
  const CsvRowStep exact(Rational(10), 0);
  CHECK(exact.samples(10) == 1);
  CHECK(exact.samples(30) == 3);
  CHECK_FALSE(exact.samples(9).has_value());
  CHECK_FALSE(exact.samples(11).has_value());
  CHECK_FALSE(exact.samples(0).has_value());
  // 25/3 = 8.33: a step of 8 or 9 is one sample, 16 or 17 are two.
  const CsvRowStep uneven(*Rational::make(25, 3), 1);
  CHECK_FALSE(uneven.samples(7).has_value());
  CHECK(uneven.samples(8) == 1);
  CHECK(uneven.samples(9) == 1);
  CHECK_FALSE(uneven.samples(10).has_value());
  CHECK(uneven.samples(16) == 2);
  CHECK(uneven.samples(17) == 2);
  CHECK_FALSE(uneven.samples(13).has_value());
}

TEST_CASE("fit_row_step: the roundest rate that rounded stamps allow") {
  CHECK(rate_of(stamps(25, 3, 200)) == Rational(120'000'000));
  // 44.1 kHz: 22675.7 ns; 1e7 / 441
  CHECK(rate_of(stamps(10'000'000, 441, 50)) == Rational(44'100));
  // 32768 Hz needs enough rows for its five digits: 1953125 / 64 ns.
  CHECK(rate_of(stamps(1'953'125, 64, 3000)) == Rational(32'768));
  CHECK(rate_of(stamps(10, 1, 50)) == Rational(100'000'000));
}

TEST_CASE("fit_row_step: gaps do not spoil the interval") {
  auto times = stamps(25, 3, 100);
  times.erase(times.begin() + 40, times.begin() + 47);
  times.erase(times.begin() + 70);
  const auto fit = fit_row_step(times, 1, power_of_ten(-9));
  REQUIRE(fit.has_value());
  CHECK(fit->gaps == 2);
  CHECK(divide(power_of_ten(9), fit->step.interval()) == Rational(120'000'000));
}

TEST_CASE("fit_row_step: irregular times are no samples") {
  CHECK_FALSE(
      fit_row_step(std::vector<std::int64_t>{0, 10, 21}, 1, power_of_ten(-9)));
  CHECK_FALSE(fit_row_step(
      std::vector<std::int64_t>{0, 10, 25, 37, 60, 61, 80, 99, 120}, 1,
      power_of_ten(-9)));
  // One odd step at the end is the end, or damage.
  auto times = stamps(10, 1, 20);
  times.back() -= 1;
  CHECK_FALSE(fit_row_step(times, 1, power_of_ten(-9)));
  // Too many gaps are no constant step.
  std::vector<std::int64_t> gaps;
  for (std::int64_t n = 0; n < 30; ++n) gaps.push_back(10 * (n + n / 3));
  CHECK_FALSE(fit_row_step(gaps, 1, power_of_ten(-9)));
}
