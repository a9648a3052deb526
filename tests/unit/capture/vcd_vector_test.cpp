// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/vcd_vector.h"

#include <doctest/doctest.h>

#include <string>

namespace clockassay {
namespace {

using Fault = VcdVector::Fault;

// The levels of a value from the leftmost bit on: 0, 1, x.
std::string bits(std::string_view digits, std::int64_t width,
                 bool port = false) {
  const VcdVector value(digits, port);
  if (value.fit(width).fault != Fault::kNone) return "fault";
  std::string text;
  for (std::int64_t place = width - 1; place >= 0; --place) {
    const Level level = value.level(place);
    text += level == Level::kLow ? '0' : level == Level::kHigh ? '1' : 'x';
  }
  return text;
}

TEST_CASE("VcdVector: short values are extended on the left by the standard") {
  // IEEE 1364-2005, 18.2.1: 0 and 1 by 0, x by x, z by z (here both unknown).
  CHECK(bits("10", 4) == "0010");
  CHECK(bits("1", 4) == "0001");
  CHECK(bits("0", 4) == "0000");
  CHECK(bits("x10", 4) == "xx10");
  CHECK(bits("zx1", 5) == "xxxx1");
  CHECK(bits("0x", 4) == "000x");
  CHECK(bits("X", 3) == "xxx");
  CHECK(bits("1010", 4) == "1010");
}

TEST_CASE(
    "VcdVector: nine-valued digits, of which H alone extends to nothing") {
  CHECK(bits("HLUW", 4) == "10xx");
  CHECK(bits("L1", 4) == "0001");
  CHECK(bits("u1", 4) == "xxx1");
  CHECK(bits("H1", 4) == "fault");
  CHECK(bits("H1", 2) == "11");
}

TEST_CASE("VcdVector: digits too many are tolerated if they say nothing") {
  CHECK(bits("00000001", 1) == "1");
  CHECK(bits("xx", 1) == "x");
  CHECK(bits("0001010", 4) == "1010");
  CHECK(bits("11010", 4) == "fault");
  CHECK(bits("10", 1) == "fault");
  CHECK(bits("11", 1) == "fault");
  CHECK(bits("x1", 1) == "fault");
  CHECK(VcdVector("0001", false).fit(1).unusual);
  CHECK_FALSE(VcdVector("1", false).fit(1).unusual);
  CHECK_FALSE(VcdVector("1", false).fit(8).unusual);
}

TEST_CASE("VcdVector: a prefix written twice does not hide the digits") {
  CHECK(bits("0b1", 1) == "1");
  CHECK(bits("0b0", 1) == "0");
  CHECK(bits("0B1010", 4) == "1010");
  CHECK(VcdVector("0b1", false).fit(1).unusual);
}

TEST_CASE("VcdVector: no digit and other letters are no value") {
  for (const char* text : {"", "2", "0b", "1b1", "1_0", "D"}) {
    CAPTURE(text);
    CHECK(VcdVector(text, false).fit(4).fault == Fault::kLetter);
  }
}

TEST_CASE("VcdVector: every state letter of a port, by who drives") {
  for (const char c : std::string("DdLl0")) {
    CHECK(vcd_port_level(c) == Level::kLow);
  }
  for (const char c : std::string("UuHh1")) {
    CHECK(vcd_port_level(c) == Level::kHigh);
  }
  for (const char c : std::string("NZXT?FfAaBbCc")) {
    CHECK(vcd_port_level(c) == Level::kUnknown);
  }
  for (const char c : std::string("xznt2-Ww#")) {
    CHECK_FALSE(vcd_port_level(c));
  }
}

TEST_CASE("VcdVector: a port gives a letter for each bit, no more, no fewer") {
  CHECK(bits("DUXU", 4, true) == "01x1");
  CHECK(VcdVector("UU", true).fit(3).fault == Fault::kTooShort);
  CHECK(VcdVector("UUUU", true).fit(3).fault == Fault::kTooLong);
  CHECK(VcdVector("0b1", true).fit(3).fault == Fault::kNone);  // b: a conflict
  CHECK(bits("0b1", 3, true) == "0x1");
  CHECK(VcdVector("1x", true).fit(2).fault == Fault::kLetter);
}

// 2^20 digits: any digit is found where it stands, and none is copied.
TEST_CASE("VcdVector: a million digits") {
  std::string digits(std::size_t{1} << 20, '0');
  digits[digits.size() - 1 - 700'000] = '1';
  const VcdVector value(digits, false);
  CHECK(value.fit(std::int64_t{1} << 20).fault == Fault::kNone);
  CHECK(value.level(700'000) == Level::kHigh);
  CHECK(value.level(699'999) == Level::kLow);
  CHECK(value.level(700'001) == Level::kLow);
}

}  // namespace
}  // namespace clockassay
