// SPDX-License-Identifier: GPL-3.0-or-later
// Bits of buses as channels.
#include <doctest/doctest.h>

#include <random>
#include <string>
#include <utility>
#include <vector>

#include "support/read_text.h"

namespace clockassay {
namespace {

using test::described;
using test::PlainChannel;
using test::PlainRun;
using test::read_text;
using Names = std::vector<std::string>;

ReadOptions asking(const Names& channels) {
  ReadOptions options;
  options.channels = channels;
  return options;
}

std::string header(const std::string& var) {
  return "$timescale 1ns $end $scope module top $end " + var +
         " $var wire 1 ! led $end $upscope $end $enddefinitions $end\n";
}

Capture reading(const std::string& text, const Names& channels) {
  auto result = read_text(text, asking(channels));
  INFO(described(result));
  REQUIRE(result);
  return std::move(*result);
}

std::string error_of(const std::string& text, const Names& channels) {
  const auto result = read_text(text, asking(channels));
  CHECK_FALSE(result);
  return described(result);
}

LevelEvent rise(std::int64_t time) {
  return {Ticks(time), Level::kHigh};
}
LevelEvent fall(std::int64_t time) {
  return {Ticks(time), Level::kLow};
}

PlainChannel channel(const Capture& capture, std::size_t i) {
  return test::plain_channel(capture.channels.at(i));
}

TEST_CASE("vcd bus: the leftmost digit belongs to the first index") {
  struct Case {
    const char* range;
    const char* left;   // name of the leftmost of four bits
    const char* third;  // name of the one right of it but one
  };
  for (const Case& c :
       {Case{"[3:0]", "bus[3]", "bus[1]"}, Case{"[0:3]", "bus[0]", "bus[2]"},
        Case{"[-1:-4]", "bus[-1]", "bus[-3]"},
        Case{"[15:12]", "bus[15]", "bus[13]"},
        Case{"[-2:1]", "bus[-2]", "bus[0]"}}) {
    CAPTURE(c.range);
    const std::string text =
        header("$var wire 4 \" bus " + std::string(c.range) + " $end") +
        "#0 b0000 \" #10 b1000 \" #20 b1010 \" #30 b10 \" #40 b0 \" #50";
    const Capture capture = reading(text, {c.third, c.left});
    REQUIRE(capture.channels.size() == 2);
    // In the order in which the bits were asked for.
    CHECK(capture.channels[0].name == "top." + std::string(c.third));
    CHECK(capture.channels[0].asked == Names{c.third});
    CHECK(channel(capture, 0).runs ==
          std::vector<PlainRun>{{0, 50, {rise(20), fall(40)}}});
    CHECK(channel(capture, 1).runs ==
          std::vector<PlainRun>{{0, 50, {rise(10), fall(30)}}});
    CHECK(capture.warnings.empty());
  }
}

TEST_CASE("vcd bus: without a declared range the bits are [width-1:0]") {
  const std::string text = header("$var integer 32 \" count $end") +
                           "#0 b0 \" #10 b1000 \" #20 b111 \" #30";
  const Capture capture = reading(text, {"count[3]", "top.count[0]"});
  CHECK(channel(capture, 0).runs ==
        std::vector<PlainRun>{{0, 30, {rise(10), fall(20)}}});
  CHECK(channel(capture, 1).runs == std::vector<PlainRun>{{0, 30, {rise(20)}}});
}

TEST_CASE("vcd bus: x and z extend themselves, 1 does not") {
  const std::string text = header("$var reg 8 \" bus [7:0] $end") +
                           "#0 b0 \" #10 bx1 \" #20 b1 \" #30 bz000 \" #40";
  const Capture capture = reading(text, {"bus[7]", "bus[0]"});
  const PlainChannel top = channel(capture, 0);
  CHECK(top.runs == std::vector<PlainRun>{{0, 10, {}}, {20, 30, {}}});
  CHECK(top.unknown_stretches == 2);
  CHECK(channel(capture, 1).runs ==
        std::vector<PlainRun>{{0, 40, {rise(10), fall(30)}}});
}

TEST_CASE("vcd bus: buses are not read unless a bit is named") {
  const std::string text =
      header("$var wire 8 \" bus [7:0] $end") + "#0 0! b2oops \" #10 1! #20";
  const Capture capture = reading(text, {});
  REQUIRE(capture.channels.size() == 1);
  CHECK(capture.channels[0].name == "top.led");
  CHECK(capture.channel_names == Names{"top.led", "top.bus[7:0]"});
}

TEST_CASE("vcd bus: bits of one bus and a signal beside it in one run") {
  const std::string text =
      header("$var wire 4 \" a [3:0] $end $var wire 4 # b [3:0] $end") +
      "#0 0! b0 \" b0 # #10 b1 \" b1000 # #20 1! b11 \" #30";
  const Capture capture = reading(text, {"a[1]", "led", "b[3]", "a[0]"});
  REQUIRE(capture.channels.size() == 4);
  // By place in the file, and for one bus as asked for.
  CHECK(capture.channels[0].name == "top.a[1]");
  CHECK(capture.channels[1].name == "top.a[0]");
  CHECK(capture.channels[2].name == "top.b[3]");
  CHECK(capture.channels[3].name == "top.led");
  for (const auto& [i, time] : {std::pair{0, 20}, std::pair{1, 10},
                                std::pair{2, 10}, std::pair{3, 20}}) {
    CHECK(channel(capture, static_cast<std::size_t>(i)).runs ==
          std::vector<PlainRun>{{0, 30, {rise(time)}}});
  }
}

TEST_CASE("vcd bus: a bit asked for twice is one channel that knows both") {
  const std::string text =
      header("$var wire 4 \" a [3:0] $end") + "#0 b0 \" #10 b1 \" #20";
  const Capture capture = reading(text, {"a[0]", "top.a [0]"});
  REQUIRE(capture.channels.size() == 1);
  CHECK(capture.channels[0].asked == Names{"a[0]", "top.a [0]"});
}

TEST_CASE("vcd bus: aliases of a bus share its values, each by its own range") {
  const std::string text =
      header(
          "$var wire 4 \" a [3:0] $end $scope module sub $end "
          "$var wire 4 \" b [0:3] $end $upscope $end") +
      "#0 b0 \" #10 b1 \" #20";
  const Capture capture = reading(text, {"a[0]", "b[3]"});
  REQUIRE(capture.channels.size() == 2);
  CHECK(capture.channels[1].name == "top.sub.b[3]");
  for (const std::size_t i : {0U, 1U}) {
    CHECK(channel(capture, i).runs ==
          std::vector<PlainRun>{{0, 20, {rise(10)}}});
  }
}

TEST_CASE("vcd bus: bits written as variables of their own keep working") {
  const std::string own = "$var wire 1 # q [0] $end $var wire 1 $ q [1] $end ";
  const std::string body = "#0 0# 0$ b0 \" #10 1$ #20 b10 \" #30";
  const Capture alone = reading(header(own) + body, {"q[1]"});
  CHECK(channel(alone, 0).runs == std::vector<PlainRun>{{0, 30, {rise(10)}}});
  // Beside a bus of the same name the variable goes before the bit.
  const Capture both =
      reading(header("$var wire 2 \" q [1:0] $end " + own) + body, {"q[1]"});
  CHECK(channel(both, 0).runs == std::vector<PlainRun>{{0, 30, {rise(10)}}});
  // A bus of one bit.
  const Capture one = reading(header("$var wire 1 # \\x_0\\ [0:0] $end") + body,
                              {"\\x_0\\[0]"});
  CHECK(one.channels.at(0).name == "top.\\x_0\\[0:0]");
}

TEST_CASE("vcd bus: a zero-width pulse of a bit is counted, not an edge") {
  const std::string text = header("$var wire 4 \" a [3:0] $end") +
                           "#0 b0 \" #10 b1 \" b10 \" #20 b1 \" #30";
  const Capture capture = reading(text, {"a[0]", "a[1]"});
  CHECK(channel(capture, 0).runs == std::vector<PlainRun>{{0, 30, {rise(20)}}});
  CHECK(capture.channels[0].zero_width_pulses == 1);
  CHECK(capture.channels[1].zero_width_pulses == 0);
}

TEST_CASE("vcd bus: values before the first stamp and while dumping is off") {
  const std::string text =
      header("$var wire 4 \" a [3:0] $end") +
      "$dumpvars b1 \" $end #5 #10 b0 \" #20 $dumpoff bx \" $end #30 "
      "$dumpon b1 \" $end #40";
  const Capture capture = reading(text, {"a[0]"});
  CHECK(channel(capture, 0).runs ==
        std::vector<PlainRun>{{5, 20, {fall(10)}}, {30, 40, {}}});
}

TEST_CASE("vcd bus: a prefix written twice and a lone letter are tolerated") {
  const std::string text = header("$var wire 4 \" a [3:0] $end") +
                           "#0 b0b0000 \" #10 1\" #20 x\" #30 0 \" #40";
  const Capture capture = reading(text, {"a[0]", "a[1]"});
  CHECK(channel(capture, 0).runs ==
        std::vector<PlainRun>{{0, 20, {rise(10)}}, {30, 40, {}}});
  CHECK(channel(capture, 1).runs ==
        std::vector<PlainRun>{{0, 20, {}}, {30, 40, {}}});
  REQUIRE(capture.warnings.size() == 1);
  // The prefix, three letters, and the blank behind the last one.
  CHECK(capture.warnings[0].message ==
        "tolerated 5 departures from the grammar of the format");
}

TEST_CASE("vcd bus: a name that fits nothing lists buses and offers a bit") {
  const std::string text = header("$var wire 8 \" count [7:0] $end") + "#0 0!";
  CHECK(error_of(text, {"clk"}) ==
        "error bad_data line ? byte ?: found no channel \"clk\", there are "
        "\"top.led\", \"top.count[7:0]\" (name one of these; of a bus one "
        "bit, such as \"top.count[0]\")");
  CHECK(error_of(text, {"coumt[3]"}) ==
        "error bad_data line ? byte ?: found no channel \"coumt[3]\", there "
        "are \"top.led\", \"top.count[7:0]\" (name one of these; of a bus "
        "one bit, such as \"top.count[3]\")");
  for (const char* whole : {"count", "top.count", "count[7:0]"}) {
    CHECK(error_of(text, {whole}) ==
          "error bad_data line ? byte ?: found channel \"top.count[7:0]\" to "
          "be a bus of 8 bits, expected one of its bits (name one of them, "
          "such as \"top.count[0]\")");
  }
}

TEST_CASE("vcd bus: a bit outside of the range is refused with the range") {
  const std::string text = header("$var wire 8 \" count [15:8] $end") + "#0 0!";
  for (const char* outside : {"count[7]", "top.count [7]"}) {
    ReadOptions options = asking({outside});
    options.skip_missing_channels = true;  // it is not missing, it is wrong
    CHECK(described(read_text(text, options)) ==
          "error bad_data line ? byte ?: found no bit 7 in the bus "
          "\"top.count[15:8]\" (name a bit from \"top.count[15]\" to "
          "\"top.count[8]\")");
  }
  CHECK(error_of(text, {"count[99999999999999999999]"})
            .starts_with("error bad_data line ? byte ?: found no channel "));
}

TEST_CASE("vcd bus: two buses of one name are told apart, with a warning") {
  const std::string text =
      header("$var wire 4 \" a [3:0] $end $var wire 4 # a [3:0] $end") +
      "#0 b0 \" b0 # #10 b1 \" #20 b1 # #30";
  const Capture capture = reading(text, {"a[0]", "a[0] (2)"});
  REQUIRE(capture.channels.size() == 2);
  CHECK(channel(capture, 0).runs == std::vector<PlainRun>{{0, 30, {rise(10)}}});
  CHECK(capture.channels[1].name == "top.a[0] (2)");
  CHECK(channel(capture, 1).runs == std::vector<PlainRun>{{0, 30, {rise(20)}}});
  REQUIRE(capture.warnings.size() == 1);
  CHECK(capture.warnings[0].code == WarningCode::kDuplicateNames);
  CHECK(capture.warnings[0].message ==
        "2 channels have names that several signals have: \"top.a[0]\", "
        "\"top.a[0] (2)\"; make sure that they are the ones you mean");
}

TEST_CASE("vcd bus: the same leaf in two scopes is refused with both") {
  const std::string text =
      "$timescale 1ns $end $scope module a $end $var wire 2 ! q [1:0] $end "
      "$upscope $end $scope module b $end $var wire 1 # q [0] $end "
      "$upscope $end $enddefinitions $end #0 0#";
  CHECK(error_of(text, {"q[0]"}) ==
        "error usage line ? byte ?: found several channels \"q[0]\": "
        "\"b.q[0]\", \"a.q[0]\" (give the full name)");
}

TEST_CASE("vcd bus: widths that contradict each other cannot be read") {
  const std::string text =
      header(
          "$var wire 8 \" a [3:0] $end $var wire 8 # b [7:0] $end "
          "$var wire 4 # c [3:0] $end") +
      "#0 0! #10 1! #20";
  // The header begins with 43 bytes, each $var here has 27.
  CHECK(error_of(text, {"a[3:0]"}) ==
        "error bad_data line 1 byte 43: found channel \"top.a[3:0]\" to be a "
        "bus of 8 bits whose range says otherwise, expected a variable of one "
        "bit (dump the clock as a signal of its own)");
  CHECK(error_of(text, {"a[0]"}) ==
        "error bad_data line 1 byte 43: found channel \"top.a[3:0]\" to be a "
        "bus of 8 bits whose range says otherwise, expected a variable of one "
        "bit (dump the clock as a signal of its own)");
  CHECK(error_of(text, {"c[1]"}) ==
        "error bad_data line 1 byte 97: found channel \"top.c[3:0]\" to be a "
        "bus whose identifier has two widths, expected a variable of one bit "
        "(dump the clock as a signal of its own)");
  CHECK(reading(text, {}).channels.size() == 1);
}

TEST_CASE("vcd bus: bad values are refused with their place") {
  const std::string head =
      "$timescale 1ns $end\n$var wire 4 \" bus [3:0] $end\n"
      "$enddefinitions $end\n";  // 20 + 29 + 21 = 70 bytes, 3 lines
  CHECK(error_of(head + "#0\nb11010 \"\n#5\n", {"bus[0]"}) ==
        "error bad_data line 5 byte 80: found a vector of too many bits for "
        "the bus \"bus[3:0]\" (identifier \"\\\"\"), expected up to 4 "
        "digits, each 0, 1, x or z (a damaged file must be recorded again)");
  CHECK(error_of(head + "#0\nb12 \"\n#5\n", {"bus[0]"}) ==
        "error bad_data line 5 byte 77: found a vector with a digit that means "
        "nothing for the bus \"bus[3:0]\" (identifier \"\\\"\"), expected "
        "up to 4 digits, each 0, 1, x or z (a damaged file must be recorded "
        "again)");
  CHECK(error_of(head + "#0\nbH \"\n#5\n", {"bus[0]"}) ==
        "error bad_data line 5 byte 76: found a vector of too few bits for the "
        "bus \"bus[3:0]\" (identifier \"\\\"\"), expected up to 4 digits, "
        "each 0, 1, x or z (a damaged file must be recorded again)");
  // The same letter without b: one rule.
  const std::string said =
      ": found a letter of too few bits for the bus \"bus[3:0]\" (identifier "
      "\"\\\"\"), expected 4 digits behind b, each 0, 1, x or z (a damaged "
      "file must be recorded again)";
  CHECK(error_of(head + "#0\nH\"\n#5\n", {"bus[0]"}) ==
        "error bad_data line 5 byte 73" + said);
  CHECK(error_of(head + "#0\nh \"\n#5\n", {"bus[0]"}) ==
        "error bad_data line 5 byte 75" + said);
  CHECK(error_of(head + "#0\nr1.5 \"\n#5\n", {"bus[0]"}) ==
        "error bad_data line 5 byte 78: found a real number or string for the "
        "bus \"bus[3:0]\" (identifier \"\\\"\"), expected b and up to 4 "
        "digits (a damaged file must be recorded again)");
}

TEST_CASE("vcd bus: nothing but buses says so and offers a bit") {
  const std::string text =
      "$timescale 1ns $end $var wire 4 ! bus [3:0] $end $enddefinitions $end "
      "#0 b0 ! #10 b1000 ! #20";
  CHECK(error_of(text, {}) ==
        "error bad_data line 1 byte 69: found no variable of one bit; "
        "\"bus[3:0]\" is a bus of 4 bits (if a bit of it is the clock, name "
        "it, such as \"bus[0]\")");
  CHECK(reading(text, {"bus[3]"}).channels.size() == 1);
}

TEST_CASE("vcd bus: pieces of any size give the same, errors included") {
  // Identifiers that look like stamps make for cuts between value and
  // identifier, in all the forms a value has.
  const std::string head =
      "$timescale 1ns $end $var wire 4 #1 a [3:0] $end $var wire 2 #2 b [1:0] "
      "$end $var wire 1 #3 led $end $enddefinitions $end\n";
  for (const std::string body :
       {"#0 b0 #1 b0 #2 0#3 #5 b1010 #1 b1 #3 #6 bx1 #2 b0001 #1 #7 b0b11 #2 "
        "bz #1 #8 b00001 #1 b0 #3 #9 0 #1 x#1 #10 b1 #9 #11 b1111 #1 #12",
        "$dumpvars b1 #1 b1 #2 $end b10 #1 #2 b10 #1 #3",
        "#0 b0 #1 #5 b11111 #1 #6", "#0 b0 #2 #5 bH #2 #6",
        "#0 b0 #2 #5 H #2 #6", "#0 b0 #2 #5 b12 #1 #6", "#0 b0 #2 #5 r1 #2 #6",
        "#0 b0 #2 #5 b1 #6 b1 #2 #7"}) {
    CAPTURE(body);
    const std::string text = head + body;
    const ReadOptions options = asking({"a[3]", "a[0]", "b[1]", "led"});
    const std::string whole = described(read_text(text, options));
    for (std::size_t size = 1; size <= text.size() + 1; ++size) {
      CAPTURE(size);
      REQUIRE(described(read_text(text, options, {size, 1, 1})) == whole);
      REQUIRE(described(read_text(text, options, {size, 3, 7})) == whole);
    }
  }
}

// Bits as channels must be what variables of one bit with the same values are.
TEST_CASE("vcd bus: random values read as if each bit were a variable") {
  constexpr unsigned kSeed = 7;
  for (unsigned round = 0; round < 40; ++round) {
    CAPTURE(kSeed + round);
    std::mt19937 random(kSeed + round);
    std::uniform_int_distribution<int> digit(0, 9);
    std::string bus_text =
        "$timescale 1ns $end $var wire 3 ! a [2:0] $end $enddefinitions $end\n";
    std::string bit_text =
        "$timescale 1ns $end $var wire 1 ! a [2] $end $var wire 1 # a [1] $end "
        "$var wire 1 $ a [0] $end $enddefinitions $end\n";
    int time = 0;
    for (int i = 0; i < 50; ++i) {
      if (digit(random) < 7) time += digit(random);
      std::string value;
      for (int k = 0; k < 3; ++k) value += "0000111xzx"[digit(random)];
      const std::string stamp = "#" + std::to_string(time) + " ";
      // Redundant digits on the left are dropped, as writers do.
      std::string shortened = value;
      while (shortened.size() > 1 &&
             (shortened[0] == shortened[1]
                  ? shortened[0] != '1'
                  : shortened[0] == '0' && shortened[1] == '1')) {
        shortened.erase(0, 1);
      }
      bus_text += stamp + "b" + shortened + " !\n";
      bit_text += stamp + value[0] + "! " + value[1] + "# " + value[2] + "$\n";
    }
    const Capture bus = reading(bus_text, {"a[2]", "a[1]", "a[0]"});
    const Capture bit = reading(bit_text, {"a[2]", "a[1]", "a[0]"});
    for (std::size_t i = 0; i < 3; ++i) {
      CHECK(channel(bus, i).runs == channel(bit, i).runs);
      CHECK(bus.channels[i].zero_width_pulses ==
            bit.channels[i].zero_width_pulses);
      CHECK(bus.channels[i].unknown_stretches ==
            bit.channels[i].unknown_stretches);
    }
  }
}

TEST_CASE("vcd bus: names are escaped in messages, whatever bytes they hold") {
  const std::string text =
      header("$var wire 2 \" b\x1B[1m [1:0] $end") + "#0 0!";
  CHECK(error_of(text, {"x\x1B[31m\n"}) ==
        "error bad_data line ? byte ?: found no channel \"x\\x1B[31m\\x0A\", "
        "there are \"top.led\", \"top.b\\x1B[1m[1:0]\" (name one of these; of "
        "a bus one bit, such as \"top.b\\x1B[1m[0]\")");
}

}  // namespace
}  // namespace clockassay
