// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/vcd_value.h"

#include <doctest/doctest.h>

#include <limits>
#include <string>

namespace clockassay {
namespace {

TEST_CASE("vcd_level: nine-valued letters are levels or unknown") {
  for (const char c : {'0', 'L', 'l'}) CHECK(vcd_level(c) == Level::kLow);
  for (const char c : {'1', 'H', 'h'}) CHECK(vcd_level(c) == Level::kHigh);
  for (const char c : {'x', 'X', 'z', 'Z', 'u', 'U', 'w', 'W', '-'}) {
    CHECK(vcd_level(c) == Level::kUnknown);
  }
  for (const char c : {'2', 'D', 'd', 'b', '#', '$', 'p', '\0'}) {
    CHECK_FALSE(vcd_level(c));
  }
}

TEST_CASE("vcd_stamp: whole numbers up to 2^63 - 1") {
  CHECK(vcd_stamp("0").ticks == 0);
  CHECK(vcd_stamp("0042").ticks == 42);
  CHECK(vcd_stamp("9223372036854775807").ticks ==
        std::numeric_limits<std::int64_t>::max());
  CHECK(vcd_stamp("9223372036854775807").fault == VcdStamp::Fault::kNone);
  // 2^63, 2^64 and 2^64 + 5, which wrapping would make 5.
  for (const char* text : {"9223372036854775808", "18446744073709551616",
                           "18446744073709551621", "99999999999999999999999"}) {
    CAPTURE(text);
    CHECK(vcd_stamp(text).fault == VcdStamp::Fault::kTooLarge);
  }
}

TEST_CASE("vcd_stamp: a fraction is read only when it is zero") {
  CHECK(vcd_stamp("3.0").ticks == 3);
  CHECK(vcd_stamp("3.0").fault == VcdStamp::Fault::kNone);
  CHECK(vcd_stamp("3.0").unusual);
  CHECK(vcd_stamp("3.2").fault == VcdStamp::Fault::kFraction);
}

TEST_CASE("vcd_stamp: anything else is no time") {
  for (const char* text : {"", "abc", "+5", "-5", "5e0", "5.", ".5", "1_000"}) {
    CAPTURE(text);
    CHECK(vcd_stamp(text).fault == VcdStamp::Fault::kNoNumber);
  }
}

}  // namespace
}  // namespace clockassay
