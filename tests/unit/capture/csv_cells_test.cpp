// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/csv_cells.h"

#include <doctest/doctest.h>

#include <string>
#include <utility>

using clockassay::kMostTicks;
using clockassay::parse_stamp;
using clockassay::stamp_ticks;

namespace {

// The number in units of 10^exponent, or nothing.
std::optional<std::int64_t> ticks(std::string_view cell, int exponent,
                                  char mark = '.') {
  const auto stamp = parse_stamp(cell, mark);
  return stamp ? stamp_ticks(*stamp, exponent) : std::nullopt;
}

}  // namespace

TEST_CASE("parse_stamp: decimal text becomes whole ticks exactly") {
  CHECK(ticks("0.000125", -6) == 125);
  CHECK(ticks("+0.000125", -9) == 125'000);
  CHECK(ticks("-12.5", -1) == -125);
  CHECK(ticks("1.25E-04", -6) == 125);
  CHECK(ticks("125e+3", 3) == 125);
  CHECK(ticks(".5", -1) == 5);
  CHECK(ticks("5.", 0) == 5);
  CHECK(ticks("007", 0) == 7);
  CHECK(ticks("0,25", -2, ',') == 25);
  CHECK(ticks("0", -300) == 0);
  // A double holds this to 238 ns only.
  CHECK(ticks("1700000000.123456789", -9) == 1'700'000'000'123'456'789);
  // Zeros below the tick are no digits below it.
  CHECK(ticks("1700000000.123456789000", -9) == 1'700'000'000'123'456'789);
}

TEST_CASE("parse_stamp: anything but one decimal number is refused") {
  for (const char* cell : {"",
                           "+",
                           "-",
                           ".",
                           "e5",
                           "1e",
                           "1e+",
                           "1.2.3",
                           "1,2",
                           "0x10",
                           "nan",
                           "inf",
                           "1 2",
                           "1_000",
                           "--1",
                           "1e5.0",
                           "5us",
                           "1e10000",
                           "12345678901234567891",
                           "\xD9\xA1"}) {
    CAPTURE(std::string(cell));
    CHECK_FALSE(parse_stamp(cell, '.').has_value());
  }
  CHECK_FALSE(parse_stamp("0.5", ',').has_value());
}

TEST_CASE("stamp_ticks: digits below the tick and too large ones are refused") {
  CHECK_FALSE(ticks("0.25", -1).has_value());
  CHECK_FALSE(ticks("1", 1).has_value());
  CHECK(ticks("4611686018427387903", 0) == kMostTicks);
  CHECK(ticks("-4611686018427387903", 0) == -kMostTicks);
  // The difference of two of these is 2^63.
  CHECK_FALSE(ticks("4611686018427387904", 0).has_value());
  CHECK_FALSE(ticks("-4611686018427387904", 0).has_value());
  CHECK_FALSE(ticks("1e19", 0).has_value());
  CHECK_FALSE(ticks("1e25", 0).has_value());
}

TEST_CASE("parse_stamp: knows the first and the last written place") {
  const auto padded = parse_stamp("1.2300E-04", '.');
  REQUIRE(padded.has_value());
  CHECK(padded->last_place == -8);
  CHECK(padded->last_nonzero_place() == -6);
  CHECK(padded->first_place() == -4);
  const auto whole = parse_stamp("1200", '.');
  REQUIRE(whole.has_value());
  CHECK(whole->last_place == 0);
  CHECK(whole->last_nonzero_place() == 2);
  CHECK(whole->first_place() == 3);
}

TEST_CASE("stamp_hint: names what is unusual and how to write it") {
  const std::string e = "write the power of ten with e, as in 5.4e-07";
  const std::string grouped = "write the digits without grouping them";
  const std::string prefix =
      " and no unit behind it; write the unit in full, as in 1 us";
  const std::string date =
      "dates and times of day are not read; write seconds since any fixed "
      "instant";
  const std::pair<const char*, std::string> cases[] = {
      {"0.708u", "found a number with the prefix \"u\"" + prefix},
      {"208.3 n", "found a number with the prefix \"n\"" + prefix},
      {"\xE2\x88\x92"
       "0.7",
       "the minus sign is the character U+2212; write it as -"},
      {"1\xC2\xA0"
       "000.2",
       "the blank in the number is the no-break space U+00A0; " + grouped},
      {"1\xE2\x80\xAF"
       "000",
       "the blank in the number is the narrow no-break space U+202F; " +
           grouped},
      {"1_000", grouped},
      {"5.4D-07", e},
      {"5.4*10^-07", e},
      {"2024-05-01", date},
      {"23:59:59.9", date}};
  for (const auto& [cell, hint] : cases) {
    const std::string which(cell);
    CAPTURE(which);
    CHECK(clockassay::stamp_hint(cell) == hint);
  }
  CHECK(clockassay::number_hint("1us2") == "");
}
