// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/csv_layout.h"

#include <doctest/doctest.h>

#include <string>

using clockassay::read_csv_layout;

namespace {

constexpr std::size_t kLook = std::size_t{64} << 10;

std::string comments(std::size_t size) {
  std::string text;
  while (text.size() < size) text += "# a line of a long preamble\n";
  return text;
}

}  // namespace

TEST_CASE("read_csv_layout: looks at the same bytes however many there are") {
  std::string text = "time_us,clk\n";
  for (int i = 0; text.size() < kLook; ++i) {
    text += std::to_string(i) + ",0\n";
  }
  text.resize(kLook);
  bool needs_more = false;
  const auto layout = read_csv_layout(text, false, {}, needs_more);
  REQUIRE(layout.has_value());
  CHECK(layout->row_step->interval() == clockassay::Rational(1));
  // What follows the look changes nothing, not even a finer tick.
  const auto longer =
      read_csv_layout(text + "\n9999999.5,1\n", true, {}, needs_more);
  REQUIRE(longer.has_value());
  CHECK(longer->tick_exponent == layout->tick_exponent);
  CHECK(longer->row_step->interval() == clockassay::Rational(1));
}

TEST_CASE("read_csv_layout: asks for more until a row is seen") {
  const std::string text =
      comments(3 * kLook) + "time_ms,clk\n0,0\n1,1\n" + comments(2 * kLook);
  bool needs_more = false;
  CHECK_FALSE(
      read_csv_layout(text.substr(0, 100), false, {}, needs_more).has_value());
  CHECK(needs_more);
  CHECK_FALSE(read_csv_layout(text.substr(0, 2 * kLook), false, {}, needs_more)
                  .has_value());
  CHECK(needs_more);
  const auto layout =
      read_csv_layout(text.substr(0, 4 * kLook), false, {}, needs_more);
  CHECK_FALSE(needs_more);
  REQUIRE(layout.has_value());
  CHECK(layout->tick_exponent == -3);
  CHECK(layout->layout.body_offset ==
        static_cast<std::int64_t>(text.find("0,0\n")));
}

TEST_CASE("read_csv_layout: a file without an end of its preamble is refused") {
  bool needs_more = true;
  const auto layout =
      read_csv_layout(comments(std::size_t{16} << 20), false, {}, needs_more);
  CHECK_FALSE(needs_more);
  REQUIRE_FALSE(layout.has_value());
  CHECK(layout.error().message ==
        "found no header row and row in the first 16 MiB, expected lines of "
        "text");
  CHECK(layout.error().hint ==
        "this is no CSV file, or its preamble is too long");
}

TEST_CASE("read_csv_layout: the separator is what most rows hold") {
  bool needs_more = false;
  const auto separator = [&](const char* text) {
    const auto layout = read_csv_layout(text, true, {}, needs_more);
    REQUIRE(layout.has_value());
    return layout->separator;
  };
  CHECK(separator("time_s,a\n0,0\n1,1\n") == ',');
  CHECK(separator("time_s;a\n0,5;0\n1,5;1\n") == ';');
  CHECK(separator("time_s\ta\n0,5\t0\n1,5\t1\n") == '\t');
  // The name holds a comma, the rows do not.
  CHECK(separator("time_s;\"a,b\"\n0;0\n1;1\n") == ';');
}

TEST_CASE("read_csv_layout: ticks are as fine as digits, not as idle zeros") {
  bool needs_more = false;
  const auto tick = [&](const std::string& rows) {
    const auto layout =
        read_csv_layout("time_s,clk\n" + rows, true, {}, needs_more);
    REQUIRE(layout.has_value());
    return layout->tick_exponent;
  };
  CHECK(tick("0.000,0\n0.001,1\n") == -3);
  CHECK(tick("0.000,0\n1.000,1\n") == -3);
  CHECK(tick("0,0\n1e-9,1\n") == -9);
  // Beyond picoseconds only where a digit is.
  CHECK(tick("0.000000000000000,0\n0.000000001000000,1\n") == -12);
  CHECK(tick("0.000000000000000,0\n0.000000000000250,1\n") == -14);
  // Where the range would be left, digits decide: 1.7e9 s in ps is too large.
  CHECK(tick("1700000000.123456789000,0\n1700000001.000000000000,1\n") == -9);
}

TEST_CASE("read_csv_layout: a rate below many keys and values is not lost") {
  std::string text;
  for (int i = 0; i < 30; ++i) text += "Setting " + std::to_string(i) + ",on\n";
  text += "# sample rate: 4 MHz\ntime_us,clk\n0,0\n1,1\n";
  bool needs_more = false;
  const auto layout = read_csv_layout(text, true, {}, needs_more);
  REQUIRE(layout.has_value());
  CHECK(layout->layout.grid.sample_interval_s ==
        clockassay::Rational::make(1, 4'000'000));
}
