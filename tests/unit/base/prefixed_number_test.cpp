// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/base/prefixed_number.h"

#include <doctest/doctest.h>

using namespace clockassay;

TEST_CASE("prefixed_number: digits as asked, the prefix of what is written") {
  CHECK(prefixed_number(4.664e4, 3, "Hz") == "46.6 kHz");
  CHECK(prefixed_number(1.4301e-9, 3, "s") == "1.43 ns");
  CHECK(prefixed_number(1e-3, 4, "s") == "1.000 ms");
  CHECK(prefixed_number(5.208e-4, 4, "s") == "520.8 µs");
  CHECK(prefixed_number(999.97, 4, "Hz") == "1.000 kHz");
  CHECK(prefixed_number(123.0, 2, "Hz") == "120 Hz");
  CHECK(prefixed_number(-2.5, 2, "s") == "-2.5 s");
  CHECK(prefixed_number(0.0, 3, "s") == "0.00 s");
  CHECK(prefixed_number(3e12, 2, "Hz") == "3000 GHz");
  CHECK(prefixed_number(3e-17, 2, "s") == "0.030 fs");
}
