// SPDX-License-Identifier: GPL-3.0-or-later
#include <doctest/doctest.h>

#include <string>
#include <vector>

#include "support/read_text.h"

namespace clockassay {
namespace {

using test::read_text;

// Facts and records, one a line.
std::string written(const Understanding& u) {
  std::string text;
  for (const ReadingFact& f : u.facts) {
    text += f.topic + ": " + f.found + " (" + f.because + ")\n";
  }
  for (const RecordAsRead& r : u.first_records) {
    text += std::to_string(r.line) + " [" + r.text + "] " + r.time_s;
    for (const std::string& value : r.values) text += ", " + value;
    text += "\n";
  }
  return text;
}

std::string understood(const std::string& text,
                       const std::vector<std::string>& channels = {}) {
  ReadOptions options;
  options.channels = channels;
  const auto result = read_text(text, options);
  INFO(test::described(result));
  REQUIRE(result);
  return written(result->understanding);
}

// 20 + 23 + 30 + 30 + 24 + 21 = 148 bytes, 6 lines.
const std::string kHeader =
    "$timescale 10ns $end"
    "\n$var wire 1 ! clk $end"
    "\n$var wire 8 \" bus [7:0] $end"
    "\n$var wire 1 # led_of_logger $end"
    "\n$var event 1 $ done $end"
    "\n$enddefinitions $end\n";

TEST_CASE("vcd understanding: what was decided, and why") {
  const std::string header = "header: ends at line 6, byte " +
                             std::to_string(kHeader.size() - 1) +
                             " ($enddefinitions)\n";
  CHECK(understood(kHeader + "0! x#\n#3\n1! b0 \"\n#4\nb11 \"\n#5\n0!\n#6\n"
                             "$dumpoff\nx!\n$end\n#7\n",
                   {}) ==
        "timescale: 10ns, a tick of 0.00000001 s ($timescale at line 1, byte "
        "0)\n" +
            header +
            "variables: 2 names of one bit, 1 bus, 1 that can hold no clock (4 "
            "$var in the header)\n"
            "channels: clk, led_of_logger (all of one bit, each signal under "
            "its first name)\n"
            "8 [#3\n1! b0 \"] 0.00000003, clk = 1, led_of_logger = unknown\n"
            "12 [#5\n0!] 0.00000005, clk = 0\n"
            "14 [#6\n$dumpoff\nx!\n$end] 0.00000006, clk = unknown, "
            "led_of_logger = unknown\n");
  CHECK(understood(kHeader + "#0 b0 \" #1 b1000 \"\n#2", {"bus[3]"})
            .ends_with("channels: bus[3] (asked for by name)\n"
                       "range of bus: [7:0] (declared)\n"
                       "7 [#0 b0 \"] 0, bus[3] = 0\n"
                       "7 [#1 b1000 \"] 0.00000001, bus[3] = 1\n"));
}

TEST_CASE("vcd understanding: a range nobody declared, no scale, no end") {
  CHECK(understood("$var reg 4 ! q $end #0 b0 ! #1 b1 !", {"q[0]"}) ==
        "timescale: none (one tick is taken as one second)\n"
        "header: ends at line 1, byte 20 (no $enddefinitions, but a time or "
        "$dump… there)\n"
        "variables: 0 names of one bit, 1 bus (1 $var in the header)\n"
        "channels: q[0] (asked for by name)\n"
        "range of q: [3:0] (declared without a range, with a width of 4)\n"
        "1 [#0 b0 !] 0, q[0] = 0\n"
        "1 [#1 b1 !] 1, q[0] = 1\n");
}

TEST_CASE("vcd understanding: five records, shortened, are enough") {
  std::string body;
  for (int i = 0; i < 9; ++i) body += "#" + std::to_string(i) + "\n1!\n";
  const std::string text = understood(kHeader + body);
  CHECK(text.ends_with("15 [#4\n1!] 0.00000004, clk = 1\n"));
  const std::string wide =
      understood(kHeader + "#0 1! b" + std::string(500, '1') + " ?\n#1");
  CHECK(
      wide.ends_with("[#0 1! b" + std::string(113, '1') + " …] 0, clk = 1\n"));
}

TEST_CASE("vcd understanding: it is told before the body is refused") {
  std::string told;
  ReadOptions options;
  options.header_understood = [&told](const Understanding& u) {
    told = written(u);
  };
  CHECK_FALSE(read_text(kHeader + "#0 1!\n#1 0!\noops\n#2\n", options));
  // The stamp at fault is not shown as read.
  CHECK(told.ends_with("7 [#0 1!] 0, clk = 1\n"));
}

TEST_CASE("vcd understanding: the same however the text is fed and cut") {
  std::string text = kHeader;
  for (int i = 0; i < 20; ++i) text += "#" + std::to_string(i) + " 1!\n";
  const std::string whole = understood(text);
  for (const std::size_t most : {1U, 7U, 100U}) {
    const auto result = read_text(text, {}, {16, 2, most});
    REQUIRE(result);
    CHECK(written(result->understanding) == whole);
  }
}

}  // namespace
}  // namespace clockassay
