// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/number_format.h"

#include <doctest/doctest.h>

using namespace clockassay;

// Expected texts follow from the rule in the header, by hand.

TEST_CASE("limits_to: to the place two digits of the uncertainty reach") {
  CHECK(limits_to(-27.94, 45.87, 1.9, "ppm") == "-27.9 … +45.9 ppm");
  CHECK(limits_to(-30.4138, 30.4138, 1.9, "ppm") == "±30.4 ppm");
  CHECK(limits_to(0.0, 10.0, 95.0, "ppm") == "0 … +10 ppm");
}

TEST_CASE("frequency_with_uncertainty: two digits of U set the last place") {
  CHECK(frequency_with_uncertainty(12000731.4, 25.4) ==
        "12.000 731 MHz ± 25 Hz");
  CHECK(frequency_with_uncertainty(11999964.0, 25.08e0) ==
        "11.999 964 MHz ± 25 Hz");
  // U = 1.2 kHz reaches the hundreds of hertz.
  CHECK(frequency_with_uncertainty(12000731.4, 1200.0) ==
        "12.0007 MHz ± 1.2 kHz");
  CHECK(frequency_with_uncertainty(32768.0, 0.0123) ==
        "32.768 000 kHz ± 0.012 Hz");
  CHECK(frequency_with_uncertainty(1.0, 2.5e-8) ==
        "1.000 000 000 Hz ± 0.000 000 025 Hz");
}

TEST_CASE("frequency_with_uncertainty: U that rounds up gains no digit") {
  // 0.0996 Hz rounds to 0.10 Hz, whose second digit is the hundredth.
  CHECK(frequency_with_uncertainty(100.0, 0.0996) == "100.00 Hz ± 0.10 Hz");
  CHECK(frequency_with_uncertainty(100.0, 99.6) == "100 Hz ± 100 Hz");
}

TEST_CASE("frequency_with_uncertainty: two digits also before the point") {
  CHECK(frequency_with_uncertainty(12000734.0, 127.0) ==
        "12.000 73 MHz ± 130 Hz");
  CHECK(frequency_with_uncertainty(512.0, 1230.0) == "500 Hz ± 1.2 kHz");
  CHECK(signed_with_uncertainty(9.0, 127.0, "ppm") == "+10 ppm ± 130 ppm");
  CHECK(time_to_digits(1.27e-10, 2) == "130 ps");
}

TEST_CASE("frequency_with_uncertainty: no more digits than a double has") {
  // 15 digits of 12 MHz in all, however small U is.
  CHECK(frequency_to(12e6, 1e-12) == "12.000 000 000 000 0 MHz");
}

TEST_CASE("nominal_frequency: shortest form") {
  CHECK(nominal_frequency(12e6) == "12 MHz");
  CHECK(nominal_frequency(32768.0) == "32.768 kHz");
  CHECK(nominal_frequency(24e6 / 7.0) == "3.428 571 428 57 MHz");
  CHECK(nominal_frequency(0.5) == "0.5 Hz");
}

TEST_CASE("signed_with_uncertainty: sign, same last place, no minus zero") {
  CHECK(signed_with_uncertainty(-3.04, 2.1, "ppm") == "-3.0 ppm ± 2.1 ppm");
  CHECK(signed_with_uncertainty(60.0, 2.1, "ppm") == "+60.0 ppm ± 2.1 ppm");
  CHECK(signed_with_uncertainty(-0.04, 2.1, "ppm") == "0.0 ppm ± 2.1 ppm");
  CHECK(signed_with_uncertainty(-333331.333, 2.1, "ppm") ==
        "-333 331.3 ppm ± 2.1 ppm");
  CHECK(signed_with_uncertainty(-0.000123456, 0.0000042, "ppm") ==
        "-0.000 123 5 ppm ± 0.000 004 2 ppm");
}

TEST_CASE("time_to_digits: the prefix is that of the rounded number") {
  CHECK(time_to_digits(999.97e-9, 4) == "1.000 \u00B5s");
  CHECK(time_to_digits(999.94e-9, 4) == "999.9 ns");
  CHECK(time_to_digits(1e-9, 3) == "1.00 ns");
  CHECK(time_to_digits(-999.97e-6, 4) == "-1.000 ms");
}

TEST_CASE("time_with_uncertainty: one prefix, the value's") {
  CHECK(time_with_uncertainty(20.3141e-12, 0.8612e-12) ==
        "20.31 ps \u00B1 0.86 ps");
  CHECK(time_with_uncertainty(1.2345e-9, 12.0e-12) ==
        "1.234 ns \u00B1 0.012 ns");
}

TEST_CASE("times: prefix and digits") {
  CHECK(time_to_digits(8.3333e-9, 3) == "8.33 ns");
  CHECK(time_to_digits(0.0, 3) == "0 s");
  CHECK(time_to_digits(0.01, 4) == "10.00 ms");
  CHECK(time_to_digits(2.5e-6, 2) == "2.5 µs");
  CHECK(time_to_digits(120.0, 4) == "120.0 s");
  CHECK(time_to(8.33327e-8, 1.7e-13) == "83.332 70 ns");
}

TEST_CASE("scientific: as many digits as asked for") {
  CHECK(scientific(1.2345e-10, 3) == "1.23e-10");
  CHECK(scientific(9.996e-7, 3) == "1.00e-06");
  CHECK(scientific(0.0, 3) == "0");
}

TEST_CASE("digits_within: two digits of half the interval set the last place") {
  // Half of it is 2.0e-12: 1.23e-10 and 0.020e-10, to the place 1e-13.
  CHECK(digits_within(1.234e-10, 1.214e-10, 1.254e-10, 9) == 4);
  CHECK(digits_within(1.234e-10, 1.214e-10, 1.254e-10, 3) == 3);
  // Half of it is 1.2e-10: to 1e-11.
  CHECK(digits_within(1.2e-10, 0.7e-10, 3.1e-10, 3) == 2);
  // Half of it is 1e-9: the place is that of the first digit.
  CHECK(digits_within(1.2e-10, 0.1e-10, 20.1e-10, 3) == 1);
  CHECK(digits_within(1.2e-10, 0.1e-10, 2000e-10, 3) == 1);
}

TEST_CASE("limits: symmetric and not") {
  CHECK(limits(-30.0, 30.0, "ppm") == "±30 ppm");
  CHECK(limits(-5300.0, 300.0, "ppm") == "-5300 … +300 ppm");
  CHECK(limits(0.45, 0.55, "") == "+0.45 … +0.55");
}

TEST_CASE("count: groups of three beyond four digits") {
  CHECK(count(0) == "0");
  CHECK(count(1234) == "1234");
  CHECK(count(120000) == "120 000");
  CHECK(count(-1234567) == "-1 234 567");
}

TEST_CASE("probability: never a certainty") {
  CHECK(probability(1.0) == "> 0.9999");
  CHECK(probability(0.0) == "< 0.0001");
  CHECK(probability(0.974) == "0.9740");
  CHECK(probability(0.3) == "0.30");
}
