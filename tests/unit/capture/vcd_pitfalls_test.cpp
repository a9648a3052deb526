// SPDX-License-Identifier: GPL-3.0-or-later
// What writers of VCD really write. The table in docs/formats/vcd.md says
// which test stands for which case.
#include <doctest/doctest.h>

#include <string>
#include <vector>

#include "support/read_text.h"

namespace clockassay {
namespace {

using test::described;
using test::PlainChannel;
using test::PlainRun;
using test::read_text;
using Names = std::vector<std::string>;

const std::string kEnd = " $enddefinitions $end\n";
const std::string kHeader =
    "$timescale 1 ns $end\n$var wire 1 ! clk $end\n$enddefinitions $end\n";

LevelEvent rise(std::int64_t time) {
  return {Ticks(time), Level::kHigh};
}
LevelEvent fall(std::int64_t time) {
  return {Ticks(time), Level::kLow};
}

Result<Capture> asked(const std::string& text, const Names& channels) {
  ReadOptions options;
  options.channels = channels;
  return read_text(text, options);
}

Capture reading(const std::string& text, const Names& channels = {}) {
  auto result = asked(text, channels);
  INFO(described(result));
  REQUIRE(result);
  return std::move(*result);
}

std::string error_of(const std::string& text, const Names& channels = {}) {
  const auto result = asked(text, channels);
  CHECK_FALSE(result);
  return described(result);
}

std::vector<PlainRun> runs(const Capture& capture, std::size_t channel = 0) {
  return test::plain_channel(capture.channels.at(channel)).runs;
}

std::string warnings(const Capture& capture) {
  std::string text;
  for (const Warning& w : capture.warnings) {
    text += std::string(warning_info(w.code).name) + ": " + w.message + "\n";
  }
  return text;
}

TEST_CASE("vcd pitfall: one token a line, and all in one line") {
  std::string lines = kHeader + "#0 0! #10 b1 ! $comment 0! $end #20 0! #30\n";
  const auto expected = std::vector<PlainRun>{{0, 30, {rise(10), fall(20)}}};
  for (const char* blank : {"\n", "\r\n", "\r", "\n\n  ", "\t", " "}) {
    CAPTURE(std::string(blank));
    std::string text;
    for (const char c : lines) {
      text += c == ' ' || c == '\n' ? blank : std::string(1, c);
    }
    const Capture capture = reading(text);
    CHECK(runs(capture) == expected);
    CHECK(capture.warnings.empty());
  }
}

TEST_CASE("vcd pitfall: identifiers that differ only in length are apart") {
  std::string text = "$timescale 1ns $end";
  std::string body;
  const Names ids{"!",    "!!",    "!!!",    "n1",        "n12",
                  "n123", "n1234", "n12345", "aaaaaaaab", "aaaaaaaac"};
  for (std::size_t i = 0; i < ids.size(); ++i) {
    text += " $var wire 1 " + ids[i] + " s" + std::to_string(i) + " $end";
    body += "#" + std::to_string(i) + " 0" + ids[i] + " #" +
            std::to_string(20 + i) + " 1" + ids[i] + "\n";
  }
  // Times must not decrease: all falls first, then all rises.
  body.clear();
  for (std::size_t i = 0; i < ids.size(); ++i) body += "0" + ids[i] + "\n";
  for (std::size_t i = 0; i < ids.size(); ++i) {
    body += "#" + std::to_string(20 + i) + " 1" + ids[i] + "\n";
  }
  const Capture capture = reading(text + kEnd + "#0 " + body);
  REQUIRE(capture.channels.size() == ids.size());
  const auto end = static_cast<std::int64_t>(20 + ids.size() - 1);
  for (std::size_t i = 0; i < ids.size(); ++i) {
    CHECK(runs(capture, i) ==
          std::vector<PlainRun>{
              {0, end, {rise(20 + static_cast<std::int64_t>(i))}}});
  }
}

TEST_CASE("vcd pitfall: weak, uninitialised and upper-case letters") {
  const Capture capture =
      reading(kHeader +
              "#0 U! #5 L! #10 H! #15 0! #20 1! #25 X! #30 Z! #35 -! #40 l! "
              "#45 h! #50");
  CHECK(runs(capture) ==
        std::vector<PlainRun>{{5, 25, {rise(10), fall(15), rise(20)}},
                              {40, 50, {rise(45)}}});
}

TEST_CASE("vcd pitfall: a rise by way of x is a gap, not an edge") {
  const Capture capture = reading(
      kHeader + "#0 0! #10 1! #20 0! #30 x! #31 1! #40 0! #50 z! #51 0! #60");
  CHECK(runs(capture) == std::vector<PlainRun>{{0, 30, {rise(10), fall(20)}},
                                               {31, 50, {fall(40)}},
                                               {51, 60, {}}});
  CHECK(capture.channels[0].unknown_stretches == 2);
}

TEST_CASE("vcd pitfall: the last of several values at one time counts") {
  // 0 → 1 → 0 at 10 and 0 → 1 → 0 → 1 at 20: pulses of no width.
  const Capture capture =
      reading(kHeader + "#0 0! #10 1! 0! #20 1! 0! 1! #20 1! #30 x! 0! #40");
  CHECK(runs(capture) == std::vector<PlainRun>{{0, 40, {rise(20), fall(30)}}});
  CHECK(capture.channels[0].zero_width_pulses == 2);
}

TEST_CASE("vcd pitfall: selects of all forms, and bits one by one") {
  struct Case {
    const char* reference;
    const char* name;
  };
  for (const Case& c :
       {Case{"q[3]", "q[3]"}, Case{"q [3]", "q[3]"},
        Case{"[1423][NAME][2]", "[1423][NAME][2]"},
        Case{"mem [4] [2]", "mem[4][2]"}, Case{"q [0:0]", "q[0:0]"},
        Case{"(0)(0)_W", "(0)(0)_W"}, Case{"(3)", "(3)"},
        Case{"bra[ket]slash/dash-colon:9\\done",
             "bra[ket]slash/dash-colon:9\\done"},
        Case{"$unit", "$unit"}, Case{"9num", "9num"},
        Case{"\\x_0\\ [0:0]", "\\x_0\\[0:0]"}, Case{"a.b", "a.b"},
        Case{"two  words", "two words"}, Case{"\\$end", "\\$end"},
        Case{"proj::mod", "proj::mod"},
        Case{"\xC3\xA9t\xE9", "\xC3\xA9t\xE9"}}) {
    CAPTURE(c.reference);
    const std::string text =
        "$timescale 1ns $end $scope module \\a.b $end "
        "$var wire 1 ! " +
        std::string(c.reference) + " $end" + kEnd + "#0 0! #10 1!";
    const Capture capture = reading(text);
    CHECK(capture.channels.at(0).name == "\\a.b." + std::string(c.name));
    CHECK(capture.warnings.empty());
    CHECK(reading(text, {capture.channels[0].name}).channels.size() == 1);
  }
}

TEST_CASE("vcd pitfall: without a name, and in a scope without one") {
  const Capture capture = reading(
      "$timescale 1ns $end $scope begin $end $var wire 1 ! $end $upscope $end "
      "$upscope $end" +
      kEnd + "#0 0! #10 1!");
  CHECK(capture.channels.at(0).name.empty());
  CHECK(warnings(capture) ==
        "unusual_syntax: tolerated 3 departures from the grammar of the "
        "format\n");
}

TEST_CASE("vcd pitfall: types and kinds of scope nobody standardised") {
  for (const char* kind : {"interface", "struct", "unknown", "vhdl_record",
                           "clocking", "vhdl_architecture", "union"}) {
    for (const char* type : {"logic", "bit", "reg", "trireg", "wand", "supply0",
                             "sparse_array", "enum", "integer"}) {
      CAPTURE(type);
      const Capture capture = reading(
          "$timescale 1ns $end $scope " + std::string(kind) + " s $end $var " +
          type + " 1 ! clk $end $upscope $end" + kEnd + "#0 0! #10 1!");
      CHECK(capture.channels.at(0).name == "s.clk");
      CHECK(capture.warnings.empty());
    }
  }
}

TEST_CASE(
    "vcd pitfall: no width takes memory, and one that is none is refused") {
  const std::string beside = "$timescale 1ns $end $var wire 1 ! clk $end ";
  for (const char* var : {"$var string 0 # s $end", "$var parameter 0 # p $end",
                          "$var wire 99999999999999999999999 # w $end",
                          "$var wire 4294967295 # w [4294967294:0] $end"}) {
    CAPTURE(var);
    const Capture capture = reading(beside + var + kEnd + "#0 0! b1 # #10 1!");
    CHECK(capture.channels.size() == 1);
    CHECK(capture.warnings.empty());
  }
  // A bit far out of a vast bus is a digit like any other.
  const Capture vast =
      reading(beside + "$var wire 4294967295 # w [4294967294:0] $end" + kEnd +
                  "#0 b0 # #5 b101 # #10",
              {"w[2]", "w[4294967294]"});
  CHECK(runs(vast, 0) == std::vector<PlainRun>{{0, 10, {rise(5)}}});
  CHECK(runs(vast, 1) == std::vector<PlainRun>{{0, 10, {}}});
  for (const char* width : {"-1", "one", "1.5", "0x8"}) {
    CAPTURE(width);
    CHECK(error_of("$timescale 1ns $end\n$var wire " + std::string(width) +
                   " ! clk $end\n") ==
          "error bad_data line 2 byte 20: found \"$var wire " +
              std::string(width) +
              " ! clk $end\", expected type, width, identifier and name "
              "(write for example $var wire 1 ! clk $end)");
  }
}

TEST_CASE("vcd pitfall: attributes are skipped, but swallow nothing") {
  const Capture capture = reading(
      "$timescale 1ns $end $attrbegin misc 02 $state 1030 $end $var wire 1 ! "
      "clk $end $attrend $end $comment $var is not handled $end" +
      kEnd + "#0 0! #10 1!");
  CHECK(warnings(capture) ==
        "unusual_syntax: tolerated 2 departures from the grammar of the "
        "format\n");
  CHECK(error_of("$timescale 1ns $end\n$attrbegin misc\n$var wire 1 ! clk "
                 "$end\n") ==
        "error bad_data line 3 byte 36: found \"$var\" inside \"$attrbegin\", "
        "expected $end (an $end is missing)");
}

TEST_CASE("vcd pitfall: odd timescales are exact") {
  struct Case {
    const char* text;
    const char* written;
    Int128 numerator;
    Int128 denominator;
  };
  constexpr Int128 kPerFs = 1'000'000'000'000'000;
  for (const Case& c : {Case{"244 ns", "244ns", 244, 1'000'000'000},
                        Case{"6666ps", "6666ps", 6666, 1'000'000'000'000},
                        Case{"0.001fs", "0.001fs", 1, 1000 * kPerFs},
                        Case{"0.0001fs", "0.0001fs", 1, 10'000 * kPerFs},
                        Case{"1.5 us", "1.5us", 3, 2'000'000}}) {
    CAPTURE(c.text);
    const Capture capture =
        reading("$timescale " + std::string(c.text) +
                " $end $var wire 1 ! clk $end" + kEnd + "#0 0! #10 1!");
    CHECK(capture.grid.tick_s == *Rational::make(c.numerator, c.denominator));
    CHECK(warnings(capture) ==
          "timescale_odd: found timescale \"" + std::string(c.written) +
              "\", which is not 1, 10 or 100 of a unit; read exactly as it "
              "stands\n");
  }
  for (const char* usual : {"1 \n ps", "10ns", "100 s", "1s"}) {
    CHECK(reading("$timescale " + std::string(usual) +
                  " $end $var wire 1 ! clk $end" + kEnd + "#0 0! #10 1!")
              .warnings.empty());
  }
}

TEST_CASE("vcd pitfall: timescales that cannot be taken are refused") {
  for (const char* text : {"0 ns", "-1ns", "1 ticks", "1us/1ns", "ns", "1",
                           "1 NS", "", "1ns 1ps", "1e3ns", "1,5ns"}) {
    CAPTURE(text);
    const std::string error =
        error_of("\n$timescale " + std::string(text) + " $end\n");
    CHECK(
        error.starts_with("error bad_data line 2 byte 1: found timescale \""));
    CHECK(error.ends_with(
        "\", expected 1, 10 or 100 and one of s, ms, us, ns, ps, fs (correct "
        "the $timescale)"));
  }
}

// kHeader has 21 + 23 + 21 = 65 bytes, 3 lines; "#0\n0!\n" 6 bytes, 2 lines.
TEST_CASE("vcd pitfall: times that are none are refused with their place") {
  for (const char* stamp : {"#+5", "#-5", "#5e0", "#", "#abc", "#5.", "#0x5"}) {
    CAPTURE(stamp);
    CHECK(error_of(kHeader + "#0\n0!\n" + stamp + "\n1!\n") ==
          "error bad_data line 6 byte 71: found time \"" + std::string(stamp) +
              "\", expected # and a whole number (a damaged file must be "
              "recorded again)");
  }
  CHECK(error_of(kHeader + "#0\n0!\n# 5\n1!\n") ==
        "error bad_data line 6 byte 71: found time \"#\", expected # and a "
        "whole number (a damaged file must be recorded again)");
  for (const char* stamp : {"#3.2", "#3.0000001"}) {
    CHECK(error_of(kHeader + "#0\n0!\n" + stamp + "\n1!\n") ==
          "error bad_data line 6 byte 71: found time \"" + std::string(stamp) +
              "\", expected a whole number of ticks (write the file with a "
              "finer $timescale)");
  }
  for (const char* stamp :
       {"#9223372036854775808", "#18446744073709551616",
        "#18446744073709551626", "#99999999999999999999999"}) {
    CHECK(error_of(kHeader + "#0\n0!\n" + stamp + "\n1!\n") ==
          "error bad_data line 6 byte 71: found time \"" + std::string(stamp) +
              "\", expected at most 9223372036854775807 (write the file with a "
              "coarser $timescale)");
  }
}

TEST_CASE(
    "vcd pitfall: a lower stamp is refused, but dropped at the very end") {
  CHECK(error_of(kHeader + "#0\n0!\n#100\n1!\n#37\n0!\n") ==
        "error bad_data line 8 byte 79: found time 37 after time 100, expected "
        "times that do not decrease (two captures in one file? split them; a "
        "damaged file must be recorded again)");
  const Capture capture = reading(kHeader + "#0 0! #100 1! #37\n");
  CHECK(runs(capture) == std::vector<PlainRun>{{0, 100, {rise(100)}}});
  CHECK(warnings(capture) ==
        "truncated_end: the last record of the file is incomplete and was left "
        "out\n");
}

TEST_CASE("vcd pitfall: stamps twice, and many without changes") {
  std::string body = "#0 0! ";
  for (int i = 1; i < 2000; ++i) body += "#" + std::to_string(i / 2) + "\n";
  const Capture capture = reading(kHeader + body + "#1000 1! #1000 #1001");
  CHECK(runs(capture) == std::vector<PlainRun>{{0, 1001, {rise(1000)}}});
  CHECK(capture.warnings.empty());
}

TEST_CASE("vcd pitfall: dump sections without end, and ends without section") {
  const Capture capture = reading(
      kHeader + "#0 $dumpvars 0! #10 1! $end #15 $dumpall 1! #20 0! #30");
  CHECK(runs(capture) == std::vector<PlainRun>{{0, 30, {rise(10), fall(20)}}});
  // $dumpvars and $dumpall without $end, the $end that belongs to neither.
  CHECK(warnings(capture) ==
        "unusual_syntax: tolerated 3 departures from the grammar of the "
        "format\n");
}

TEST_CASE(
    "vcd pitfall: strings and odd reals take two tokens and are ignored") {
  const Capture capture = reading(
      "$timescale 1ns $end $var wire 1 ! clk $end $var real 64 # r $end "
      "$var real 64 $ q $end" +
      kEnd +
      "#0 0! srun # s $ rnan # r-1.5e-300 $ sz1! # R+inf # #10 1! Sx $ #20");
  CHECK(runs(capture) == std::vector<PlainRun>{{0, 20, {rise(10)}}});
  CHECK(capture.warnings.empty());
  const std::string text =
      "$timescale 1ns $end $var real 64 # r $end $var string 1 $ s $end $var "
      "wire 1 ! clk $end" +
      kEnd + "#0 0!";
  // "$timescale 1ns $end " are 20 bytes, "$var real 64 # r $end " are 22.
  CHECK(error_of(text, {"r"}) ==
        "error bad_data line 1 byte 20: found channel \"r\" to be a real "
        "number, expected a variable of one bit (dump the clock as a signal of "
        "its own)");
  CHECK(error_of(text, {"s"}) ==
        "error bad_data line 1 byte 42: found channel \"s\" to be a string, "
        "expected a variable of one bit (dump the clock as a signal of its "
        "own)");
}

TEST_CASE("vcd pitfall: a declaration or a value with parts missing") {
  CHECK(error_of("$timescale 1ns $end\n$var  $ stage_reg $end\n") ==
        "error bad_data line 2 byte 20: found \"$var $ stage_reg $end\", "
        "expected type, width, identifier and name (write for example $var "
        "wire 1 ! clk $end)");
  CHECK(error_of("$timescale 1ns $end\n$\n$var wire 1 ! clk $end\n") ==
        "error bad_data line 3 byte 22: found \"$var\" inside \"$\", expected "
        "$end (an $end is missing)");
  CHECK(error_of(kHeader + "#0\n0!\n$\n1!\n") ==
        "error bad_data line 6 byte 71: found unknown keyword \"$\", expected "
        "value changes (a damaged file must be recorded again)");
  // An identifier that is missing must not swallow the next time.
  for (const char* value : {"b1", "r1.5", "sidle"}) {
    CAPTURE(value);
    const std::string start = kHeader + "#0\n0!\n" + value + "\n";
    CHECK(error_of(start + "#10\n1!\n") ==
          "error bad_data line 7 byte " + std::to_string(start.size()) +
              ": found \"#10\" after a value without identifier, expected an "
              "identifier of the header (a damaged file must be recorded "
              "again)");
    CHECK(error_of(start + "$end\n1!\n") ==
          "error bad_data line 7 byte " + std::to_string(start.size()) +
              ": found \"$end\" after a value without identifier, expected an "
              "identifier of the header (a damaged file must be recorded "
              "again)");
  }
}

TEST_CASE("vcd pitfall: values of undeclared identifiers are counted, once") {
  std::string body = "#0 0! ";
  for (int i = 1; i < 100; ++i) body += "1? b10 ?? #" + std::to_string(i) + " ";
  const Capture capture = reading(kHeader + body + "1! #100");
  CHECK(runs(capture) == std::vector<PlainRun>{{0, 100, {rise(99)}}});
  CHECK(warnings(capture) ==
        "undeclared_ids: left out 198 value changes of signals the header does "
        "not declare\n");
}

TEST_CASE("vcd pitfall: two dumps in one file, and a body without a header") {
  const std::string dump = kHeader + "#0\n0!\n#10\n1!\n";
  CHECK(error_of(dump + dump) ==
        "error bad_data line 8 byte 78: found \"$timescale\" after the header, "
        "expected value changes (two captures in one file? split them)");
  // A second one that begins with values only: its time starts again.
  CHECK(error_of(dump + "#0\n0!\n") ==
        "error bad_data line 8 byte 78: found time 0 after time 10, expected "
        "times that do not decrease (two captures in one file? split them; a "
        "damaged file must be recorded again)");
  for (const char* body :
       {"#500\n1!\n#510\n0!\n", "#500 b1 !\n", "#0\n$dumpvars\n1!\n$end\n",
        "$dumpall 1! $end #5"}) {
    CAPTURE(body);
    const std::string error =
        "error bad_data line 2 byte 1: found values at the beginning, expected "
        "a header with $var (if this continues another file, put that one "
        "before it)";
    CHECK(error_of("\n" + std::string(body)) == error);
  }
}

// Wherever a file ends: refused, or what stands before is read as it is.
TEST_CASE("vcd pitfall: a file cut anywhere never says anything else") {
  const std::string header =
      "$timescale 1ns $end $scope module t $end $var wire 1 ! clk $end $var "
      "wire 4 # bus [3:0] $end $var port 1 <0 p $end $upscope $end "
      "$enddefinitions $end ";
  const std::string text =
      header +
      "#0 $dumpvars 0! b0 # pD 6 0 <0 $end #100 1! b1010 # #150 0! b11 # pU 0 "
      "6 <0 $comment 1! $end #1200 1! #1250 $dumpoff x! bx # $end #1300 "
      "$dumpon 0! b0 # $end #1400 1! ";
  const Names channels{"clk", "bus[1]", "p"};
  const Capture whole = reading(text, channels);
  int refused = 0;
  for (std::size_t size = 0; size < text.size(); ++size) {
    CAPTURE(text.substr(0, size));
    const auto cut = asked(text.substr(0, size), channels);
    if (!cut) {
      ++refused;
      // In the header, before the first value, or in the comment.
      const bool comment =
          cut.error().message.find("$comment") != std::string::npos;
      CHECK((size <= header.size() + 2 || comment));
      continue;
    }
    for (std::size_t i = 0; i < channels.size(); ++i) {
      std::vector<LevelEvent> all;
      for (const PlainRun& run : runs(whole, i)) {
        all.insert(all.end(), run.edges.begin(), run.edges.end());
      }
      std::vector<LevelEvent> got;
      for (const PlainRun& run : runs(*cut, i)) {
        got.insert(got.end(), run.edges.begin(), run.edges.end());
      }
      REQUIRE(got.size() <= all.size());
      all.resize(got.size());
      CHECK(got == all);
    }
  }
  CHECK(refused > static_cast<int>(header.size()));
}

TEST_CASE("vcd pitfall: a last identifier that may be cut is left out") {
  const std::string text =
      "$timescale 1ns $end $var wire 1 ! clk $end $var wire 1 !! other $end "
      "$var wire 2 !!! bus [1:0] $end" +
      kEnd + "#0 0! 0!! #10 1! 1!! #20 ";
  const std::vector<PlainRun> known{{0, 20, {rise(10)}}};
  // What it says to "!" may have been meant for "!!", and so on.
  for (const char* last : {"0!", "0 !", "b0 !", "0!!", "b0 !!", "b00 !!"}) {
    CAPTURE(std::string(last));
    const Capture capture = reading(text + last);
    CHECK(runs(capture, 0) == known);
    CHECK(runs(capture, 1) == known);
    CHECK(warnings(capture) ==
          "truncated_end: the last record of the file is incomplete and was "
          "left out\n");
  }
  // A blank ends it.
  const Capture whole = reading(text + "0! ");
  CHECK(runs(whole, 0) == std::vector<PlainRun>{{0, 20, {rise(10), fall(20)}}});
  CHECK(whole.warnings.empty());
  // No identifier is longer than this one.
  const Capture longest = reading(text + "b01 !!!", {"clk", "bus[0]"});
  CHECK(longest.warnings.empty());
}

TEST_CASE("vcd pitfall: what is cut in its last token is read with a warning") {
  for (const char* end :
       {"b1", "b1 ", "pU", "pU 0", "pU 0 6", "p", "r1.", "s", "1", "#", "#5",
        "$dum", "$e", "$vcdclose", "$vcdclose #5"}) {
    CAPTURE(end);
    const Capture capture = reading(kHeader + "#0 0! #10 1! #20 " + end);
    CHECK(runs(capture) == std::vector<PlainRun>{{0, 20, {rise(10)}}});
    CHECK(warnings(capture).starts_with("truncated_end: "));
  }
}

TEST_CASE("vcd pitfall: what holds nothing is refused with what is missing") {
  CHECK(error_of("").find("found an empty file") != std::string::npos);
  CHECK(error_of(" \n\n").find("found nothing but blanks") !=
        std::string::npos);
  CHECK(error_of("$comment a $end\n$comment b $end\n") ==
        "error bad_data line 3 byte 32: found the end of the file in the "
        "header, expected $enddefinitions and value changes (the file is cut "
        "off or empty: record it again)");
  CHECK(error_of(kHeader) ==
        "error bad_data line 4 byte 65: found no time such as #100 after the "
        "header, expected value changes with times (nothing was recorded: "
        "record the capture again)");
  CHECK(error_of("$timescale 1ns $end\n$enddefinitions $end\n#0\n#5\n") ==
        "error bad_data line 2 byte 40: found no $var in the header, expected "
        "at least one (dump the clock's signal as well)");
  CHECK(error_of("$comment never ends\n$var wire 1 ! clk\n#0\n") ==
        "error bad_data line 1 byte 0: found the end of the file inside "
        "\"$comment\", expected $end (the file is cut off: record it again)");
  // Times without values: nothing is ever known.
  const Capture capture = reading(kHeader + "#0 #10");
  CHECK(runs(capture).empty());
}

TEST_CASE("vcd pitfall: rows of numbers under any name are read as rows") {
  // Content decides, not the name; a comment that looks like a time neither.
  const Capture capture = reading("time_s,clk\n0,0\n1,1\n2,0\n3,1\n");
  CHECK(capture.format == "csv");
  ReadOptions options;
  options.format = "vcd";
  CHECK(described(read_text("time_s,clk\n0,1\n", options)) ==
        "error bad_data line 1 byte 0: found \"time_s,clk\" in the header, "
        "expected a keyword such as $var (a damaged file must be recorded "
        "again)");
}

TEST_CASE("vcd pitfall: any byte in a name or date, shown escaped") {
  const std::string text =
      "$date d\xE9"
      "but \xC3\xA9t\xC3\xA9 $end $timescale 1ns $end $var wire "
      "1 ! clk\x1B[31m\x01 $end" +
      kEnd + "#0 0! #10 1!";
  const Capture capture = reading(text);
  CHECK(capture.channels.at(0).name == "clk\x1B[31m\x01");
  CHECK(error_of(text, {"c\x07\x9B"}) ==
        "error bad_data line ? byte ?: found no channel \"c\\x07\\x9B\", there "
        "are \"clk\\x1B[31m\\x01\" (name one of these)");
}

TEST_CASE("vcd pitfall: tokens of a million bytes, read or not") {
  constexpr std::size_t kSize = 1'000'000;
  std::string digits(kSize, '1');
  const std::string head =
      "$timescale 1ns $end $var wire 1 ! clk $end $var wire 1000000 # bus "
      "[999999:0] $end $var string 1 $ s $end" +
      kEnd;
  const std::string text = head + "#0 0! b0 # s" + digits + " $ #10 1! b" +
                           digits + " # #20 0! b" + digits + "z # #30\n";
  CHECK(runs(reading(text)) ==
        std::vector<PlainRun>{{0, 30, {rise(10), fall(20)}}});
  // The last value has a digit too many.
  CHECK(error_of(text, {"bus[999999]"})
            .find("found a vector of too many bits for the bus") !=
        std::string::npos);
  digits[0] = '0';
  const std::string good = head + "#0 b0 # #10 b" + digits + " # #20";
  const Capture capture = reading(good, {"bus[999999]", "bus[999998]"});
  CHECK(runs(capture, 0) == std::vector<PlainRun>{{0, 20, {}}});
  CHECK(runs(capture, 1) == std::vector<PlainRun>{{0, 20, {rise(10)}}});
  for (const std::size_t piece : {1'000U, 999'999U, 1'000'100U}) {
    ReadOptions options;
    options.channels = {"bus[999998]"};
    CHECK(described(read_text(good, options, {piece, 2})) ==
          described(reading(good, options.channels)));
  }
}

TEST_CASE(
    "vcd pitfall: ten thousand variables, two thousand scopes, long names") {
  std::string text = "$timescale 1ns $end ";
  std::string path;
  for (int i = 0; i < 2000; ++i) {
    text +=
        "$scope module s $end $var wire 1 i" + std::to_string(i) + " v $end\n";
    path += "s.";
  }
  for (int i = 0; i < 2000; ++i) text += "$upscope $end ";
  for (int i = 0; i < 8000; ++i) {
    text += "$var wire 1 j" + std::to_string(i) + " w" + std::to_string(i) +
            " $end\n";
  }
  const std::string long_name(100'000, 'n');
  text += "$scope module " + long_name + " $end $var wire 1 ! " + long_name +
          " $end $upscope $end" + kEnd + "#0 0! 0i1999 0j7 #10 1! 1i1999 #20";
  const Capture all = reading(text);
  CHECK(all.channels.size() == 10'001);
  CHECK(all.channels[1999].name == path + "v");
  CHECK(runs(all, 1999) == std::vector<PlainRun>{{0, 20, {rise(10)}}});
  const Capture one = reading(text, {long_name, "w7"});
  REQUIRE(one.channels.size() == 2);
  CHECK(one.channels[1].name == long_name + "." + long_name);
  CHECK(runs(one, 1) == std::vector<PlainRun>{{0, 20, {rise(10)}}});
}

// Scopes of 2^20 bytes with 300 variables: 300 MB of names from 1 MB of file.
TEST_CASE("vcd pitfall: names that multiply beyond all memory are refused") {
  std::string text =
      "$scope module " + std::string(std::size_t{1} << 20, 's') + " $end\n";
  for (int i = 0; i < 300; ++i) text += "$var wire 1 ! v $end\n";
  // 256 names of 2^20 + 2 bytes are above 2^28; the 256th is on line 257.
  CHECK(error_of(text).starts_with(
      "error bad_data line 257 byte 1053951: found names of more than "
      "268435456 bytes in all, scopes included (dump fewer signals)"));
}

TEST_CASE("vcd pitfall: an event has no level and is refused with a way out") {
  const std::string text =
      "$timescale 1ns $end $var event 1 # tick $end $var wire 1 ! clk $end" +
      kEnd + "#0 0! 1# #10 1! 1# #20";
  CHECK(runs(reading(text)) == std::vector<PlainRun>{{0, 20, {rise(10)}}});
  CHECK(error_of(text, {"tick"}) ==
        "error bad_data line 1 byte 20: found channel \"tick\" to be an event, "
        "which has no level, expected a variable of one bit (dump the clock as "
        "a signal of its own)");
}

TEST_CASE("vcd pitfall: a clock that hardly moves, never, or is never known") {
  const Capture capture = reading(
      "$timescale 1ns $end $var wire 1 ! few $end $var wire 1 # still $end "
      "$var wire 1 $ never $end" +
      kEnd + "#0 0! 1# x$ #10 1! #20 0! #30 1! #40");
  CHECK(runs(capture, 0) ==
        std::vector<PlainRun>{{0, 40, {rise(10), fall(20), rise(30)}}});
  CHECK(runs(capture, 1) == std::vector<PlainRun>{{0, 40, {}}});
  CHECK(runs(capture, 2).empty());
}

// The longest span there is, and a period as long: nothing wraps.
TEST_CASE("vcd pitfall: a capture from 0 to 2^63 - 1 is read exactly") {
  constexpr std::int64_t kLast = 9'223'372'036'854'775'807;
  const Capture capture =
      reading(kHeader +
              "#0 0! #1 1! #2 0! #9223372036854775805 1! "
              "#9223372036854775806 0! #9223372036854775807 1!");
  CHECK(runs(capture) ==
        std::vector<PlainRun>{{0,
                               kLast,
                               {rise(1), fall(2), rise(kLast - 2),
                                fall(kLast - 1), rise(kLast)}}});
}

}  // namespace
}  // namespace clockassay
