// SPDX-License-Identifier: GPL-3.0-or-later
// Ports of an extended VCD: IEEE 1364-2005, 18.4.
#include <doctest/doctest.h>

#include <random>
#include <string>
#include <vector>

#include "support/read_text.h"

namespace clockassay {
namespace {

using test::described;
using test::PlainChannel;
using test::PlainRun;
using test::read_text;

// 21 + 25 + 28 + 33 + 14 + 21 = 142 bytes, 6 lines.
const std::string kHeader =
    "$timescale 1 ns $end\n"
    "$scope module bench $end\n"
    "$var port 1 <0 clk_out $end\n"
    "$var port [3:0] <1 count    $end\n"
    "$upscope $end\n"
    "$enddefinitions $end\n";

Result<Capture> asked(const std::string& body,
                      const std::vector<std::string>& channels = {}) {
  ReadOptions options;
  options.channels = channels;
  return read_text(kHeader + body, options);
}

PlainChannel only_channel(const Result<Capture>& result) {
  INFO(described(result));
  REQUIRE(result);
  REQUIRE(result->channels.size() == 1);
  return test::plain_channel(result->channels[0]);
}

LevelEvent rise(std::int64_t time) {
  return {Ticks(time), Level::kHigh};
}
LevelEvent fall(std::int64_t time) {
  return {Ticks(time), Level::kLow};
}

TEST_CASE("vcd port: the letters say the level, whoever drives it") {
  for (const std::string pair : {"UD", "ud", "HL", "hl", "10", "Ud", "hL"}) {
    CAPTURE(pair);
    const std::string high = std::string("p") + pair[0] + " 0 6 <0 ";
    const std::string low = std::string("p") + pair[1] + " 6 0 <0 ";
    const auto result = asked("#0 $dumpports " + low + "$end #10 " + high +
                              "#15 " + low + "#20 " + high + "#30");
    const PlainChannel c = only_channel(result);
    CHECK(c.name == "bench.clk_out");
    CHECK(c.runs ==
          std::vector<PlainRun>{{0, 30, {rise(10), fall(15), rise(20)}}});
    CHECK(result->warnings.empty());
  }
}

TEST_CASE("vcd port: nobody or two drivers make a gap, never an edge") {
  for (const char letter : std::string("NZXT?FfAaBbCc")) {
    CAPTURE(letter);
    const PlainChannel c = only_channel(
        asked("#0 pD 6 0 <0 #10 pU 0 6 <0 #20 p" + std::string(1, letter) +
              " 6 6 <0 #30 pU 0 6 <0 #40 pD 6 0 <0 #50"));
    CHECK(c.runs ==
          std::vector<PlainRun>{{0, 20, {rise(10)}}, {30, 50, {fall(40)}}});
    CHECK(c.unknown_stretches == 1);
  }
}

TEST_CASE("vcd port: U is high after p and unknown without") {
  const PlainChannel c =
      only_channel(asked("#0 0<0 #10 pU 0 6 <0 #20 U<0 #30 1<0 #40 0<0 #50"));
  CHECK(c.runs ==
        std::vector<PlainRun>{{0, 20, {rise(10)}}, {30, 50, {fall(40)}}});
}

TEST_CASE("vcd port: a bit of a port is named like one of a bus") {
  const std::string body =
      "#0 $dumpports pDDDD 6666 0000 <1 pX 6 6 <0 $end #10 pUDLX 0666 6006 <1 "
      "#20 pDUHL 6006 0660 <1 #30";
  CHECK(only_channel(asked(body, {"count[3]"})).runs ==
        std::vector<PlainRun>{{0, 30, {rise(10), fall(20)}}});
  CHECK(only_channel(asked(body, {"count[1]"})).runs ==
        std::vector<PlainRun>{{0, 30, {rise(20)}}});
  CHECK(only_channel(asked(body, {"count[0]"})).runs ==
        std::vector<PlainRun>{{0, 10, {}}, {20, 30, {}}});
  CHECK(described(asked(body, {"count"})) ==
        "error bad_data line ? byte ?: found channel \"bench.count[3:0]\" to "
        "be a bus of 4 bits, expected one of its bits (name one of them, such "
        "as \"bench.count[0]\")");
}

TEST_CASE("vcd port: the size may be a number or a range, with blanks too") {
  for (const char* size : {"[3:0]", "[3 : 0]", "4"}) {
    CAPTURE(size);
    ReadOptions options;
    options.channels = {"count[2]"};
    const auto result = read_text(
        "$timescale 1ns $end $var port " + std::string(size) +
            " <1 count $end $enddefinitions $end #0 pDDDD 6666 0000 <1 #10 "
            "pDUDD 6066 0600 <1 #20",
        options);
    CHECK(only_channel(result).runs ==
          std::vector<PlainRun>{{0, 20, {rise(10)}}});
  }
}

TEST_CASE("vcd port: a range in both places is one, if it is the same") {
  const auto text = [](const std::string& range) {
    return "$timescale 1ns $end $var port [3:0] <1 count " + range +
           " $end $var port 1 <0 clk $end $enddefinitions $end #0 pDDDD 6666 "
           "0000 <1 #10 pDUDD 6066 "
           "0600 <1 #20";
  };
  ReadOptions options;
  options.channels = {"count[2]"};
  CHECK(only_channel(read_text(text("[3:0]"), options)).runs ==
        std::vector<PlainRun>{{0, 20, {rise(10)}}});
  for (const char* other : {"[0:3]", "[7:0]"}) {
    CHECK(described(read_text(text(other), options)) ==
          "error bad_data line 1 byte 20: found channel \"count" +
              std::string(other) +
              "\" to be a bus of 4 bits whose range says otherwise, expected a "
              "variable of one bit (dump the clock as a signal of its own)");
  }
}

TEST_CASE("vcd port: dumping off, on and a checkpoint") {
  const auto result = asked(
      "#0 $dumpports pD 6 0 <0 $end #10 pU 0 6 <0 #15 $dumpportsall pU 0 6 <0 "
      "$end #20 $dumpportsoff pX 6 6 <0 $end #30 $dumpportson pD 6 0 <0 $end "
      "#40 pU 0 6 <0 #50");
  const PlainChannel c = only_channel(result);
  CHECK(c.runs ==
        std::vector<PlainRun>{{0, 20, {rise(10)}}, {30, 50, {rise(40)}}});
  REQUIRE(result->warnings.size() == 1);
  CHECK(result->warnings[0].message ==
        "dumping was switched off 1 time; nothing is known until it goes on");
}

TEST_CASE("vcd port: $vcdclose gives the final time") {
  const auto result = asked("#0 pD 6 0 <0 #10 pU 0 6 <0\n$vcdclose #70 $end\n");
  CHECK(only_channel(result).runs ==
        std::vector<PlainRun>{{0, 70, {rise(10)}}});
  CHECK(result->last_stamp == Ticks(70));
  CHECK(result->warnings.empty());
  CHECK(described(asked("#0 pD 6 0 <0\n$vcdclose $end\n")) ==
        "error bad_data line 8 byte 165: found \"$end\" after $vcdclose, "
        "expected a time such as #100 (a damaged file must be recorded "
        "again)");
  CHECK(described(asked("#50 pD 6 0 <0\n$vcdclose #49 $end\n")) ==
        "error bad_data line 8 byte 166: found time 49 after time 50, expected "
        "times that do not decrease (two captures in one file? split them; a "
        "damaged file must be recorded again)");
}

TEST_CASE("vcd port: what has not the form is refused with its place") {
  CHECK(described(asked("#0\npU 0 8 <0\n#5\n")) ==
        "error bad_data line 8 byte 150: found \"8\" as strengths of a port, "
        "expected a digit from 0 to 7 for each of 1 bit (a damaged file must "
        "be recorded again)");
  CHECK(described(asked("#0\npUU 0 66 <1\n#5\n")) ==
        "error bad_data line 8 byte 149: found \"0\" as strengths of a port, "
        "expected a digit from 0 to 7 for each of 2 bits (a damaged file must "
        "be recorded again)");
  CHECK(described(asked("#0\npU <0\n#5\n")) ==
        "error bad_data line 8 byte 148: found \"<0\" as strengths of a port, "
        "expected a digit from 0 to 7 for each of 1 bit (a damaged file must "
        "be recorded again)");
  CHECK(described(asked("#0\npx 0 6 <0\n#5\n")) ==
        "error bad_data line 8 byte 152: found a port value that is no single "
        "bit for one-bit \"bench.clk_out\" (identifier \"<0\"), expected one "
        "letter such as U or D (a damaged file must be recorded again)");
  CHECK(described(asked("#0\npUU 00 66 <1\n#5\n", {"count[0]"})) ==
        "error bad_data line 8 byte 155: found a port value of too few bits "
        "for the bus \"bench.count[3:0]\" (identifier \"<1\"), expected 4 "
        "letters such as U or D (a damaged file must be recorded again)");
  // A bit of a port that is not read is not looked at but for the strengths.
  CHECK(only_channel(asked("#0 pD 6 0 <0 pxx 00 66 <1 #5")).runs.size() == 1);
  CHECK(described(read_text("$var port [3 <0 clk $end\n")) ==
        "error bad_data line 1 byte 0: found \"$var port[3 <0 clk $end\", "
        "expected type, width, identifier and name (write for example $var "
        "wire 1 ! clk $end)");
}

TEST_CASE("vcd port: pieces of any size give the same, errors included") {
  const std::string head =
      "$timescale 1ns $end $var port 1 #1 a $end $var port [1:0] #2 b $end "
      "$enddefinitions $end\n";
  for (const std::string body :
       {"#0 $dumpports pD 6 0 #1 pDU 60 06 #2 $end #5 pU 0 6 #1 #6 pUX 06 60 "
        "#2 #7 $dumpportsoff pX 6 6 #1 $end #8 $dumpportson pU 0 6 #1 $end "
        "#9 $vcdclose #10 $end",
        "pD 6 0 #1 $vcdclose #3 $end", "pU 0 6 #1 #5 $vcdclose #4 $end ",
        "#0 pU 0 6 #1 pUUU 000 666 #2 #5", "#0 pU 0 6 #1 pU 0 66 #1 #5",
        "#0 pUU 00 66 #1 #5 ", "#0 pU 0 6 #1 #5 pU 0 6 #6 pD 6 0 #1 #7 ",
        "#0 pU 0 6 #1 #5 pU 0 6 ", "#0 pU 0 6 #1 #5 pUU 0"}) {
    CAPTURE(body);
    const std::string text = head + body;
    ReadOptions options;
    options.channels = {"a", "b[1]", "b[0]"};
    const std::string whole = described(read_text(text, options));
    for (std::size_t size = 1; size <= text.size() + 1; ++size) {
      CAPTURE(size);
      REQUIRE(described(read_text(text, options, {size, 1, 1})) == whole);
      REQUIRE(described(read_text(text, options, {size, 3, 7})) == whole);
    }
  }
}

// Words in any order: values without identifiers, strengths without values, …
TEST_CASE("vcd port: random words, whole and in pieces, give the same") {
  constexpr unsigned kSeed = 12;
  constexpr unsigned kRounds = 300;
  const std::string head =
      "$timescale 1ns $end $var port 1 #1 a $end $var port [1:0] #2 b $end "
      "$var wire 3 #3 c [0:2] $end $var wire 1 ! d $end $enddefinitions "
      "$end\n";
  // Whole values, so that most texts are read far; and parts of them.
  const std::vector<std::string> words{"pU 0 6 #1",
                                       "pD 6 0 #1",
                                       "pUX 06 60 #2",
                                       "pDU 60 06 #2",
                                       "b101 #3",
                                       "bx1 #3",
                                       "b0b11 #3",
                                       "1#3",
                                       "0!",
                                       "1!",
                                       "b1 !",
                                       "1 #3",
                                       "b1 ?",
                                       "r1 ?",
                                       "$dumpportsoff",
                                       "$dumpportson pU 0 6 #1",
                                       "$end",
                                       "$vcdclose",
                                       "$comment #4 $end",
                                       "$dumpvars"};
  const std::vector<std::string> parts{"pU", "b1",   "0 6", "#2",      "r1",
                                       "#3", "$end", "p",   "b1111 #3"};
  int read = 0;
  for (unsigned round = 0; round < kRounds; ++round) {
    CAPTURE(kSeed + round);
    std::mt19937 random(kSeed + round);
    const auto below = [&random](std::size_t end) {
      return std::uniform_int_distribution<std::size_t>(0, end - 1)(random);
    };
    std::string text = head;
    std::size_t time = 5;
    for (std::size_t i = 0; i < 30; ++i) {
      if (below(3) > 0) text += "#" + std::to_string(time += below(3)) + " ";
      text += below(60) == 0 ? parts[below(parts.size())]
                             : words[below(words.size())];
      text += below(4) == 0 ? "\r\n" : " ";
    }
    ReadOptions options;
    options.channels = {"a", "b[1]", "c[0]", "c[2]", "d"};
    const auto whole = read_text(text, options);
    read += whole ? 1 : 0;
    for (const std::size_t size : {1U, 2U, 3U, 5U, 8U, 13U, 40U}) {
      CAPTURE(size);
      CAPTURE(text);
      REQUIRE(described(read_text(text, options, {size, 2, 11})) ==
              described(whole));
    }
  }
  CHECK(read > 10);
  CHECK(read < static_cast<int>(kRounds) - 10);
}

}  // namespace
}  // namespace clockassay
