// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/oscillator/uart_tolerance.h"

#include <doctest/doctest.h>

#include <cmath>
#include <cstdint>
#include <random>
#include <string>

#include "support/approx.h"

namespace clockassay {
namespace {

Rational ratio(Int128 num, Int128 den) {
  return Rational::make(num, den).value();
}

UartMargin margin_of(const UartSampling& sampling) {
  const auto margin = uart_margin(sampling);
  REQUIRE(margin.has_value());
  return *margin;
}

TEST_CASE("uart_margin: what a reference manual works out for slow data") {
  // A receiver that takes a bit from ticks 8, 9 and 10 of 16, in the reference
  // manual of a microcontroller with it (chapter on its UART, "slow data
  // tolerance"): 8 data bits (154 - 147)/154 = 4.54 %, 9 data bits
  // (170 - 163)/170 = 4.12 %.
  CHECK(margin_of({16, 8, 10, 10}).slow == ratio(7, 154));
  CHECK(margin_of({16, 8, 10, 11}).slow == ratio(7, 170));
  // Its figures for fast data are from memory: (160 - 154)/154 and
  // (176 - 170)/170. They are the same count.
  CHECK(margin_of({16, 8, 10, 10}).fast == ratio(6, 154));
  CHECK(margin_of({16, 8, 10, 11}).fast == ratio(6, 170));
}

TEST_CASE("uart_margin: one sample amid the bit") {
  // With the tick the start edge takes to be seen: (1/2 - 1/16)/9.5, derived.
  CHECK(margin_of({16, 8, 8, 10}).slow == ratio(7, 152));
  // A maker's answer spreads the same 7 ticks over the whole frame of 160: a
  // little less. Ours reach to where the last bit is taken.
  CHECK(multiply(margin_of({16, 8, 8, 10}).slow, ratio(152, 160)) ==
        ratio(7, 160));
  // Many ticks: towards the ideal 0.5/9.5 = 5.263 % of a trade journal, from
  // below. What is missing is the tick of the edge: 1/64/9.5 = 0.16 %.
  const double slow = margin_of({64, 32, 32, 10}).slow.to_double();
  CHECK(slow < 0.5 / 9.5);
  CHECK(slow == testing::approx(0.5 / 9.5 - 1.0 / 64 / 9.5));
  // A manual of a 5-bit counter has 15.5/320 = 4.84 % for frames of 11 bits:
  // it counts half a tick for the edge and to the beginning of the last bit.
  CHECK(margin_of({32, 16, 16, 11}).slow < ratio(155, 3200));
  CHECK(margin_of({32, 16, 16, 11}).fast < ratio(155, 3200));
}

// Whether a frame comes through: every bit taken within itself. `rate` is the
// sender's over the receiver's, `late` how much of a tick passes before the
// first edge is seen.
bool comes_through(const UartSampling& s, double rate, double late) {
  for (std::int64_t bit = 0; bit < s.frame_bits; ++bit) {
    const double start = static_cast<double>(bit * s.oversampling) / rate;
    const double end = static_cast<double>((bit + 1) * s.oversampling) / rate;
    const double tick = static_cast<double>(bit * s.oversampling) + late;
    const double first = tick + static_cast<double>(s.first_sample) - 1;
    const double last = tick + static_cast<double>(s.last_sample) - 1;
    if (first < start || last > end) return false;
  }
  return true;
}

TEST_CASE("uart_margin: every frame within it comes through, simulated") {
  constexpr unsigned kSeed = 115200;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  std::uniform_real_distribution<double> unit(0, 1);
  for (int i = 0; i < 20000; ++i) {
    const auto N = static_cast<std::int64_t>(4 + random() % 29);
    const auto first = static_cast<std::int64_t>(
        2 + random() % static_cast<std::uint64_t>(N - 1));
    const auto last =
        first + static_cast<std::int64_t>(
                    random() % static_cast<std::uint64_t>(N - first + 1));
    const auto bits = static_cast<std::int64_t>(7 + random() % 7);
    const UartSampling s = {N, first, last, bits};
    const UartMargin margin = margin_of(s);
    const double slow = margin.slow.to_double();
    const double fast = margin.fast.to_double();
    const double rate = 1 - slow + (slow + fast) * unit(random);
    CAPTURE(i);
    // The last tick of a bit may fall on its very end: a rounding apart.
    CHECK(comes_through(s, rate / (1 + 1e-12), unit(random)));
    // And beyond fast it may not.
    CHECK_FALSE(comes_through(s, (1 + fast) * (1 + 1e-3), 1.0));
    // Nor far beyond slow, which the manuals count a little strictly: they
    // divide by where the last sample is, not the first.
    const double whole = static_cast<double>((bits - 1) * N);
    const double exact = whole / (whole + static_cast<double>(first) - 1);
    CHECK(1 - slow >= exact);
    CHECK_FALSE(comes_through(s, exact * (1 - 1e-3), 0.0));
  }
}

UartLink link_of(std::int64_t clock_hz, std::int64_t baud,
                 std::string_view far_end) {
  const auto divisor = nearest_uart_divisor(clock_hz, baud, 16);
  REQUIRE(divisor.has_value());
  const auto band = parse_tolerance(far_end);
  REQUIRE(band.has_value());
  return {clock_hz, baud, *divisor, {16, 8, 10, 10}, *band};
}

TEST_CASE(
    "uart_tolerance: the divisor's error, as tables of bit rates have it") {
  // Tables in data sheets of 8-bit microcontrollers (16 samples a bit), read
  // many times and quoted from memory: 16 MHz, 115200 Bd, 9: -3.5 % (their
  // divisor register 8); 9600 Bd, 104: +0.2 %; 14.7456 MHz: 0.0 %.
  const auto slow = uart_tolerance(link_of(16000000, 115200, "0.1%"));
  REQUIRE(slow.has_value());
  CHECK(slow->bit_rate_error_ppm.to_double() / 1e4 ==
        testing::approx(-3.5).epsilon(0.05 / 3.5));
  const auto near = uart_tolerance(link_of(16000000, 9600, "0.1%"));
  REQUIRE(near.has_value());
  CHECK(near->bit_rate_error_ppm == ratio(1000000, 624));  // 0.16 %
  const auto exact = uart_tolerance(link_of(14745600, 115200, "0.1%"));
  REQUIRE(exact.has_value());
  CHECK(exact->bit_rate_error_ppm == Rational(0));
}

TEST_CASE("uart_tolerance: what is left, by hand") {
  // No divisor error, far end ±2 %. Receiving: (1 - 0.02)/(147/154) = 1.02667,
  // 1.02/(160/154) = 0.98175; sending: 160/154 * 0.98 = 1.01818,
  // 147/154 * 1.02 = 0.97364. The inner ones count.
  const auto tolerance = uart_tolerance(link_of(14745600, 115200, "2%"));
  REQUIRE(tolerance.has_value());
  CHECK(tolerance->limits_ppm.low_ppm == ratio(-18250, 1));
  CHECK(tolerance->limits_ppm.high_ppm.to_double() ==
        testing::approx(1e6 * (160.0 / 154 * 0.98 - 1)));
}

TEST_CASE("uart_tolerance: a clock below the ticks it has to make is refused") {
  // 921600 * 16 = 14 745 600, where a divisor of 1 makes 1 000 000 ticks.
  const auto slow = uart_tolerance(link_of(1000000, 921600, "1%"));
  REQUIRE_FALSE(slow.has_value());
  CHECK(slow.error().code == ErrorCode::kUsage);
  CHECK(slow.error().message ==
        "UART: found clock = 1000000 Hz, expected baud * oversampling = "
        "14745600 Hz or more, give or take what the link allows: no divisor "
        "is below 1");
  // 2 % short is within what a good far end leaves: slow data may be 4.5 %.
  const auto near = uart_tolerance(link_of(14450688, 921600, "0.1%"));
  REQUIRE(near.has_value());
  CHECK(near->limits_ppm.low_ppm < Rational(0));
  UartLink half = link_of(14745600, 921600, "1%");
  half.divisor = ratio(1, 2);
  const auto refused = uart_tolerance(half);
  REQUIRE_FALSE(refused.has_value());
  CHECK(refused.error().message ==
        "UART: found divisor = 1/2, expected 1 or more");
}

TEST_CASE("uart_tolerance: a divisor that is off shifts the limits") {
  const auto none = uart_tolerance(link_of(14745600, 115200, "1%"));
  // 16 MHz / (16 * 9) / 115200 = 0.96451: the clock may, and must, run fast.
  const auto slow = uart_tolerance(link_of(16000000, 115200, "1%"));
  REQUIRE(none.has_value());
  REQUIRE(slow.has_value());
  const double shift = 16e6 / (16 * 9) / 115200;
  const auto shifted = [&](const Rational& ppm) {
    return 1e6 * ((1 + ppm.to_double() * 1e-6) / shift - 1);
  };
  CHECK(slow->limits_ppm.low_ppm.to_double() ==
        testing::approx(shifted(none->limits_ppm.low_ppm)));
  CHECK(slow->limits_ppm.high_ppm.to_double() ==
        testing::approx(shifted(none->limits_ppm.high_ppm)));
  CHECK(slow->limits_ppm.low_ppm > Rational(0));
}

TEST_CASE(
    "uart_tolerance: both ends on a limit still come through, simulated") {
  constexpr unsigned kSeed = 9600;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  std::uniform_real_distribution<double> unit(0, 1);
  int tried = 0;
  for (int i = 0; i < 5000; ++i) {
    const auto clock_hz =
        static_cast<std::int64_t>(4000000 + random() % 44000000);
    UartLink link = link_of(clock_hz, 115200, "1.5%");
    const auto tolerance = uart_tolerance(link);
    if (!tolerance) continue;
    ++tried;
    const double low = tolerance->limits_ppm.low_ppm.to_double() * 1e-6;
    const double high = tolerance->limits_ppm.high_ppm.to_double() * 1e-6;
    const double e = low + (high - low) * unit(random);
    const double far = 1 + 0.015 * (2 * unit(random) - 1);
    const double own = static_cast<double>(clock_hz) * (1 + e) /
                       (16 * link.divisor.to_double() * 115200);
    const double late = unit(random);
    CAPTURE(i);
    CHECK(comes_through(link.sampling, far / own / (1 + 1e-12), late));
    CHECK(comes_through(link.sampling, own / far / (1 + 1e-12), late));
  }
  CHECK(tried > 1000);
}

TEST_CASE("uart_tolerance: slow bit rates of practice are taken") {
  for (const Rational& baud :
       {Rational(110), Rational(300), ratio(1345, 10), ratio(4545, 100)}) {
    UartLink link = link_of(1843200, 9600, "1%");
    link.baud = baud;
    link.divisor =
        *nearest_uart_divisor(link.clock_hz, baud, link.sampling.oversampling);
    CAPTURE(baud.to_string());
    CHECK(uart_tolerance(link));
  }
}

TEST_CASE("uart_tolerance: impossible values are refused") {
  const auto message = [](UartLink link) {
    const auto result = uart_tolerance(link);
    REQUIRE_FALSE(result.has_value());
    CHECK(result.error().code == ErrorCode::kUsage);
    CHECK_FALSE(result.error().hint.empty());
    return result.error().message;
  };
  const UartLink good = link_of(14745600, 115200, "2%");
  UartLink link = good;
  link.sampling.oversampling = 1;
  CHECK(message(link) == "UART: found oversampling = 1, expected 4 to 64");
  link = good;
  link.sampling.frame_bits = 14;
  CHECK(message(link) == "UART: found frame_bits = 14, expected 7 to 13");
  link = good;
  link.sampling.first_sample = 1;
  CHECK(message(link) == "UART: found first_sample = 1, expected 2 to 16");
  link = good;
  link.sampling.last_sample = 7;
  CHECK(message(link) == "UART: found last_sample = 7, expected 8 to 16");
  link = good;
  link.baud = 0;
  CHECK(message(link) == "UART: found baud = 0, expected more than zero");
  link.baud = ratio(9216, 10);
  CHECK(message(link) ==
        "UART: found baud = 921.6, expected a whole number of bits a second, "
        "or 45.45, 56.88, 74.2 or 134.5");
  link = good;
  link.divisor = 65537;
  CHECK(message(link) ==
        "UART: found divisor = 65537, expected at most 65536: dividers have 16 "
        "bits");
  // 24 MHz / 115200 = 208.3 clock periods to a bit; 13 to a tick of 16.
  link = good;
  link.clock_hz = 24000000;
  link.divisor = 208;
  CHECK(message(link) ==
        "UART: found divisor = 208, which makes 7211.54 bits a second of "
        "24000000 Hz, expected baud = 115200 within a half");
  CHECK(uart_tolerance(link).error().hint ==
        "clock periods to a tick of the receiver, not to a bit: 13.021 here");
  link.divisor = 1;
  CHECK(message(link).starts_with("UART: found divisor = 1, which makes"));
  CHECK(message(link_of(14745600, 115200, "4%")) ==
        "UART: the far end's -4 % to 4 % leave nothing to this clock (its "
        "divisor is off by 0 %)");
}

}  // namespace
}  // namespace clockassay
