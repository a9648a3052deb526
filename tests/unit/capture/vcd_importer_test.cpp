// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/vcd_importer.h"

#include <doctest/doctest.h>

#include <string>
#include <vector>

#include "support/read_text.h"

namespace clockassay {
namespace {

using test::described;
using test::PlainRun;
using test::read_text;

const std::string kHeader =
    "$timescale 1 ns $end\n"
    "$scope module top $end\n"
    "$var wire 1 ! clk $end\n"
    "$upscope $end\n"
    "$enddefinitions $end\n";

// The one run of the one channel.
PlainRun run_of(const std::string& body, const std::string& header = kHeader) {
  const auto result = read_text(header + body);
  INFO(described(result));
  REQUIRE(result);
  REQUIRE(result->channels.size() == 1);
  const auto channel = test::plain_channel(result->channels[0]);
  REQUIRE(channel.runs.size() == 1);
  return channel.runs[0];
}

LevelEvent rise(std::int64_t time) {
  return {Ticks(time), Level::kHigh};
}
LevelEvent fall(std::int64_t time) {
  return {Ticks(time), Level::kLow};
}

std::string error_of(const std::string& text,
                     const std::vector<std::string>& channels = {}) {
  ReadOptions options;
  options.channels = channels;
  const auto result = read_text(text, options);
  CHECK_FALSE(result);
  return described(result);
}

const Warning* warning_of(const Result<Capture>& result, WarningCode code) {
  REQUIRE(result);
  for (const Warning& w : result->warnings) {
    if (w.code == code) return &w;
  }
  return nullptr;
}

TEST_CASE("vcd: scalar changes make edges") {
  const PlainRun expected{0, 30, {rise(10), fall(15), rise(20)}};
  CHECK(run_of("#0 0! #10 1! #15 0! #20 1! #30") == expected);
  CHECK(run_of("#0\n$dumpvars\n0!\n$end\n#10\n1!\n#15\n0!\n#20\n1!\n#30\n") ==
        expected);
}

TEST_CASE("vcd: lines have no meaning, CR and tabs separate") {
  const PlainRun expected{0, 20, {rise(10), fall(20)}};
  CHECK(run_of("#0\r\n0!\r\n#10\r\n1!\r\n#20\r\n0!") == expected);
  CHECK(run_of("#0\r0!\r#10\r1!\r#20\r0!\r") == expected);
  CHECK(run_of("\t#0\v0!\f#10\t1!\n\n\n#20  0! ") == expected);
}

TEST_CASE("vcd: one-bit values in vector form") {
  CHECK(run_of("#0 b0 ! #10 b1 ! #15 B0 ! #20 b0001 !") ==
        PlainRun{0, 20, {rise(10), fall(15), rise(20)}});
}

TEST_CASE("vcd: identifiers are bytes, whatever they look like") {
  // Each of these is a legal identifier; after a value it is never anything
  // else.
  for (const std::string id :
       {"#", "#10", "$", "$end", "b", "b0", "0", "1", "x", "r1", "clk", "!!",
        "abcdefghijkl", "\xE9"}) {
    CAPTURE(id);
    const std::string header = "$timescale 1ns $end $var wire 1 " + id +
                               " clk $end $enddefinitions $end\n";
    const PlainRun expected{0, 20, {rise(10), fall(20)}};
    if (id != "$end") {
      CHECK(run_of("#0 0" + id + " #10 1" + id + " #20 0" + id, header) ==
            expected);
      CHECK(run_of("#0 b0 " + id + " #10 b1 " + id + " #20 b0 " + id + "\n",
                   header) == expected);
    }
  }
}

TEST_CASE("vcd: values of other signals are skipped, real and string too") {
  const std::string header =
      "$timescale 1ns $end $var wire 1 ! clk $end $var wire 8 \" bus $end "
      "$var real 64 # level $end $var string 1 $ state $end "
      "$enddefinitions $end\n";
  CHECK(run_of("#0 0! b10101010 \" r3.14e0 # sidle $ s $ #10 1! r-nan # #20",
               header) == PlainRun{0, 20, {rise(10)}});
}

TEST_CASE("vcd: values before the first stamp hold from it on, no edges") {
  CHECK(run_of("$dumpvars 1! $end #5 #10 0!") == PlainRun{5, 10, {fall(10)}});
  CHECK(run_of("0! 1! #5 #10 0!") == PlainRun{5, 10, {fall(10)}});
  CHECK(run_of("0! #5 1! #10 0!") == PlainRun{5, 10, {fall(10)}});
}

TEST_CASE("vcd: a checkpoint in mid-file is no edge and no time") {
  CHECK(run_of("#0 0! #10 1! #12 $dumpall 1! $end #20 0!") ==
        PlainRun{0, 20, {rise(10), fall(20)}});
}

TEST_CASE("vcd: while dumping is off nothing is known") {
  struct Case {
    const char* off;
    const char* left_out;
  };
  for (const Case& c :
       {Case{"$dumpoff x! $end", ""}, Case{"$dumpoff $end", ""},
        Case{"$dumpoff $end #14 x!", ""},
        Case{"$dumpoff 0! $end",
             ", so 1 value change before that was left out"},
        Case{"$dumpoff b1 ! $end",
             ", so 1 value change before that was left out"},
        // Behind the section as well, and where its $end is missing.
        Case{"$dumpoff x! $end 1! #14 0! #16 $dumpall 1! $end #17 x!",
             ", so 3 value changes before that were left out"},
        Case{"$dumpoff x! #14 0!",
             ", so 1 value change before that was left out"}}) {
    CAPTURE(std::string(c.off));
    const auto result = read_text(kHeader + "#0 0! #10 1! #12 " + c.off +
                                  " #20 $dumpon 0! $end #30 1! #40");
    const Warning* w = warning_of(result, WarningCode::kUnknownLevels);
    REQUIRE(w);
    CHECK(w->message ==
          "dumping was switched off 1 time; nothing is known "
          "until it goes on" +
              std::string(c.left_out));
    const auto channel = test::plain_channel(result->channels.at(0));
    CHECK(channel.unknown_stretches == 1);
    REQUIRE(channel.runs.size() == 2);
    CHECK(channel.runs[0] == PlainRun{0, 12, {rise(10)}});
    CHECK(channel.runs[1] == PlainRun{20, 40, {rise(30)}});
  }
}

TEST_CASE("vcd: comments among the values may look like values") {
  CHECK(run_of("#0 0! $comment 1! #5 1! $dumpoff $end #10 1! #20") ==
        PlainRun{0, 20, {rise(10)}});
}

TEST_CASE("vcd: stamps to 2^63 - 1 and the same one twice") {
  CHECK(run_of("#0 0! #0 #4294967297 1! #9007199254740993 0! "
               "#9223372036854775807 1!") ==
        PlainRun{0,
                 9223372036854775807,
                 {rise(4294967297), fall(9007199254740993),
                  rise(9223372036854775807)}});
}

TEST_CASE("vcd: aliases are one net, by default under the first name") {
  const std::string text =
      "$timescale 1ns $end $scope module a $end $var wire 1 ! clk $end "
      "$var wire 1 \" led $end $scope module b $end $var wire 1 ! clk_in $end "
      "$upscope $end $upscope $end $enddefinitions $end #0 0! 0\" #10 1! #20";
  const auto all = read_text(text);
  REQUIRE(all);
  REQUIRE(all->channels.size() == 2);
  CHECK(all->channels[0].name == "a.clk");
  CHECK(all->channels[1].name == "a.led");
  CHECK(all->channel_names ==
        std::vector<std::string>{"a.clk", "a.led", "a.b.clk_in"});
  ReadOptions options;
  options.channels = {"clk_in", "a.clk"};
  const auto two = read_text(text, options);
  REQUIRE(two);
  REQUIRE(two->channels.size() == 2);
  for (const ChannelRecord& c : two->channels) {
    CHECK(test::plain_channel(c).runs.at(0) == PlainRun{0, 20, {rise(10)}});
  }
  CHECK(two->channels[0].name == "a.clk");
  CHECK(two->channels[0].asked == std::vector<std::string>{"a.clk"});
  CHECK(two->channels[1].name == "a.b.clk_in");
  CHECK(two->channels[1].asked == std::vector<std::string>{"clk_in"});
  CHECK(all->channels[0].asked.empty());
}

TEST_CASE("vcd: two names for one channel are one record that knows both") {
  const std::string text =
      "$timescale 1ns $end $scope module a $end $var wire 1 ! clk [0] $end "
      "$var wire 1 \" clk [0] $end $upscope $end $enddefinitions $end "
      "#0 0! 0\" #10 1! #20 1\" #30";
  ReadOptions options;
  options.channels = {"clk", "a.clk[0]", "clk [0]", "clk[0] (2)"};
  const auto result = read_text(text, options);
  REQUIRE(result);
  REQUIRE(result->channels.size() == 2);
  CHECK(result->channels[0].name == "a.clk[0]");
  CHECK(result->channels[0].asked ==
        std::vector<std::string>{"clk", "a.clk[0]", "clk [0]"});
  CHECK(test::plain_channel(result->channels[0]).runs.at(0) ==
        PlainRun{0, 30, {rise(10)}});
  CHECK(result->channels[1].name == "a.clk[0] (2)");
  CHECK(result->channels[1].asked == std::vector<std::string>{"clk[0] (2)"});
  CHECK(test::plain_channel(result->channels[1]).runs.at(0) ==
        PlainRun{0, 30, {rise(20)}});
}

TEST_CASE("vcd: missing channels can be skipped, down to none at all") {
  const std::string text = kHeader + "#0 0! #10 1! #20";
  ReadOptions options;
  options.channels = {"mco", "clk", "uart"};
  CHECK(error_of(text, options.channels) ==
        "error bad_data line ? byte ?: found no channel \"mco\", there are "
        "\"top.clk\" (name one of these)");
  options.skip_missing_channels = true;
  const auto some = read_text(text, options);
  REQUIRE(some);
  REQUIRE(some->channels.size() == 1);
  CHECK(some->channels[0].asked == std::vector<std::string>{"clk"});
  CHECK(some->missing_channels == std::vector<std::string>{"mco", "uart"});
  options.channels = {"mco"};
  const auto none = read_text(text, options);
  REQUIRE(none);
  CHECK(none->channels.empty());
  CHECK(none->missing_channels == std::vector<std::string>{"mco"});
  CHECK(none->channel_names == std::vector<std::string>{"top.clk"});
  CHECK(none->last_stamp == Ticks(20));
}

TEST_CASE("vcd: two nets of one name are told apart, with a warning") {
  const std::string text =
      "$timescale 1ns $end $var wire 1 ! clk $end $var wire 1 \" clk $end "
      "$var wire 1 # led $end $enddefinitions $end #0 0! 1\" 0# #10 1! #20";
  ReadOptions options;
  options.channels = {"clk"};
  const auto result = read_text(text, options);
  const Warning* w = warning_of(result, WarningCode::kDuplicateNames);
  REQUIRE(w);
  CHECK(w->message ==
        "several signals have the name of \"clk\"; make sure that it is the "
        "one you mean");
  CHECK(forbids_pass(result->warnings));
  CHECK(result->channel_names ==
        std::vector<std::string>{"clk", "clk (2)", "led"});
  options.channels = {"led"};
  CHECK_FALSE(
      warning_of(read_text(text, options), WarningCode::kDuplicateNames));
}

TEST_CASE("vcd: hundreds of thousands of nets of one name, one warning") {
  // Each compared with all before it, they would take minutes.
  constexpr int kNets = 400'000;
  std::string text = "$timescale 1ns $end\n";
  for (int i = 0; i < kNets; ++i) {
    text += "$var wire 1 i" + std::to_string(i) + " clk $end\n";
  }
  text += "$enddefinitions $end #0 0i0 #10 1i0 #20";
  const auto result = read_text(text);
  REQUIRE(result);
  CHECK(result->channels.size() == kNets);
  REQUIRE(result->warnings.size() >= 1);
  CHECK(result->warnings[0].message ==
        "400000 channels have names that several signals have: \"clk\", \"clk "
        "(2)\", \"clk (3)\", \"clk (4)\", \"clk (5)\", \"clk (6)\", \"clk "
        "(7)\", \"clk (8)\" and 399992 more; make sure that they are the ones "
        "you mean");
  CHECK(std::ranges::count(result->warnings, WarningCode::kDuplicateNames,
                           &Warning::code) == 1);
}

TEST_CASE("vcd: timescale and sampling interval") {
  const auto rated = read_text(
      "$version x\n$end\n$comment\nsamplerate = "
      "24MHz $end " +
      kHeader + "#0 0! #10 1! #20");
  REQUIRE(rated);
  CHECK(rated->grid.source_reason == "stated in line 3");
  CHECK(rated->grid.tick_s == *Rational::make(1, 1'000'000'000));
  CHECK(rated->grid.sample_interval_s == Rational::make(1, 24'000'000));
  CHECK(rated->grid.source == SampleIntervalSource::kHeader);
  ReadOptions options;
  options.sample_rate_hz = Rational(16'000'000);
  const auto stated = read_text(
      "$comment samplerate = high $end " + kHeader + "#0 0! #10 1! #20",
      options);
  REQUIRE(stated);
  CHECK(stated->grid.sample_interval_s == Rational::make(1, 16'000'000));
  CHECK(stated->grid.source == SampleIntervalSource::kOption);
  const auto plain = read_text(kHeader + "#7 0! #10 1! #20");
  REQUIRE(plain);
  CHECK_FALSE(plain->grid.sample_interval_s);
  CHECK(plain->grid.source == SampleIntervalSource::kUnknown);
  CHECK(plain->origin == "0.000000007");
  CHECK(plain->warnings.empty());
}

TEST_CASE("vcd: a missing timescale forbids a pass, an odd one is exact") {
  const std::string vars = "$var wire 1 ! clk $end $enddefinitions $end ";
  const auto none = read_text(vars + "#0 0! #10 1!");
  CHECK(none->grid.tick_s == Rational(1));
  const Warning* w = warning_of(none, WarningCode::kTimescaleMissing);
  REQUIRE(w);
  CHECK(w->message ==
        "found no $timescale; one tick is taken as one second, so every time "
        "is in ticks and every frequency per tick");
  CHECK(forbids_pass(none->warnings));
  const auto odd = read_text("$timescale 244 ns $end " + vars + "#0 0! #10 1!");
  w = warning_of(odd, WarningCode::kTimescaleOdd);
  REQUIRE(w);
  CHECK(w->message ==
        "found timescale \"244ns\", which is not 1, 10 or 100 of a unit; read "
        "exactly as it stands");
  CHECK(odd->grid.tick_s == *Rational::make(244, 1'000'000'000));
}

TEST_CASE("vcd: departures from the grammar are counted, not hidden") {
  struct Case {
    const char* body;
    int departures;
  };
  for (const Case c :
       {Case{"#0 0! #10 1 ! #20", 1},  // blank before the id
        Case{"#0 b0b0 ! #10 b0b1 ! #20", 2}, Case{"#0.0 0! #10.00 1! #20", 2},
        Case{"#0 $dumpvars 0! #10 1! #20", 1},  // no $end
        Case{"#0 0! $end #10 1! #20", 1}}) {
    CAPTURE(c.body);
    CHECK(run_of(c.body) == PlainRun{0, 20, {rise(10)}});
    const auto result = read_text(kHeader + c.body);
    const Warning* w = warning_of(result, WarningCode::kUnusualSyntax);
    REQUIRE(w);
    CHECK(w->message == "tolerated " + std::to_string(c.departures) +
                            (c.departures == 1 ? " departure" : " departures") +
                            " from the grammar of the format");
  }
}

TEST_CASE("vcd: changes of undeclared identifiers are counted") {
  const auto result = read_text(kHeader + "#0 0! 1? b1 ?? #10 1! #20");
  const Warning* w = warning_of(result, WarningCode::kUndeclaredIds);
  REQUIRE(w);
  CHECK(w->message ==
        "left out 2 value changes of signals the header does not declare");
}

TEST_CASE("vcd: what is cut off at the very end is left out, with a warning") {
  // A shorter last stamp, a value without identifier, parts of tokens.
  for (const std::string end :
       {"#2", "#2\n", "#", "b1", "b1\n", "r1", "1", "$dumpo", "#2x"}) {
    CAPTURE(end);
    const std::string body = "#0 0! #10 1! #20 0! #30 " + end;
    CHECK(run_of(body) == PlainRun{0, 30, {rise(10), fall(20)}});
    CHECK(warning_of(read_text(kHeader + body), WarningCode::kTruncatedEnd));
  }
}

TEST_CASE("vcd: a file may end in a value without a line end") {
  const auto result = read_text(kHeader + "#0 0! #10 1!");
  REQUIRE(result);
  CHECK(result->warnings.empty());
}

// kHeader has 5 lines and 21 + 23 + 23 + 14 + 21 = 102 bytes.
TEST_CASE("vcd: bad values are refused with their place") {
  CHECK(error_of(kHeader + "#0\n0!\n#10\nfoo\n#20\n") ==
        "error bad_data line 9 byte 112: found \"foo\", expected a value "
        "change, a time such as #100, or a keyword (a damaged file must be "
        "recorded again)");
  CHECK(error_of(kHeader + "#0\n0!\n#100\n1!\n#37\n0!\n#40\n") ==
        "error bad_data line 10 byte 116: found time 37 after time 100, "
        "expected times that do not decrease (two captures in one file? split "
        "them; a damaged file must be recorded again)");
  CHECK(error_of(kHeader + "#0\n0!\n#3.2\n1!\n") ==
        "error bad_data line 8 byte 108: found time \"#3.2\", expected a whole "
        "number of ticks (write the file with a finer $timescale)");
  CHECK(error_of(kHeader + "#0\n0!\n#9223372036854775808\n1!\n") ==
        "error bad_data line 8 byte 108: found time \"#9223372036854775808\", "
        "expected at most 9223372036854775807 (write the file with a coarser "
        "$timescale)");
  CHECK(error_of(kHeader + "#0\n0!\n# 5\n1!\n") ==
        "error bad_data line 8 byte 108: found time \"#\", expected # and a "
        "whole number (a damaged file must be recorded again)");
  CHECK(error_of(kHeader + "#0\nb10 !\n#5\n") ==
        "error bad_data line 7 byte 109: found a vector that is no single bit "
        "for one-bit \"top.clk\" (identifier \"!\"), expected b0, b1, bx or bz "
        "(a damaged file must be recorded again)");
  CHECK(error_of(kHeader + "#0\nr1.0 !\n#5\n") ==
        "error bad_data line 7 byte 110: found a real number or string for "
        "one-bit \"top.clk\" (identifier \"!\"), expected 0, 1, x or z (a "
        "damaged file must be recorded again)");
  CHECK(error_of(kHeader + "#0\n1 #10\n0!\n") ==
        "error bad_data line 7 byte 107: found \"#10\" after a value without "
        "identifier, expected an identifier of the header (a damaged file must "
        "be recorded again)");
  CHECK(error_of(kHeader + "#0\n0!\n$date\n") ==
        "error bad_data line 8 byte 108: found \"$date\" after the header, "
        "expected value changes (two captures in one file? split them)");
  CHECK(error_of(kHeader + "#0\n0!\n$foo\n") ==
        "error bad_data line 8 byte 108: found unknown keyword \"$foo\", "
        "expected value changes (a damaged file must be recorded again)");
  CHECK(error_of(kHeader + "#0\n0!\n$comment\n#5\n1!\n") ==
        "error bad_data line 11 byte 123: found the end of the file inside the "
        "$comment that begins at byte 108, expected $end (the file is cut off: "
        "record it again)");
}

TEST_CASE("vcd: bad headers are refused with their place") {
  CHECK(error_of("$timescale 0 ns $end\n$enddefinitions $end\n#0") ==
        "error bad_data line 1 byte 0: found timescale \"0ns\", expected 1, 10 "
        "or 100 and one of s, ms, us, ns, ps, fs (correct the $timescale)");
  CHECK(error_of("$timescale 1 ns $end\n$timescale 1 ps $end\n") ==
        "error bad_data line 2 byte 21: found a second timescale, \"1ps\", "
        "other than the first (leave only the right one)");
  CHECK(error_of("$date today\n$scope module top $end\n") ==
        "error bad_data line 2 byte 12: found \"$scope\" inside \"$date\", "
        "expected $end (an $end is missing)");
  CHECK(error_of("$scope module top $end\n$var wire 1 !") ==
        "error bad_data line 2 byte 23: found the end of the file inside "
        "\"$var\", expected $end (the file is cut off: record it again)");
  CHECK(error_of("$scope module top $end\n$var wire $end\n") ==
        "error bad_data line 2 byte 23: found \"$var wire $end\", expected "
        "type, width, identifier and name (write for example $var wire 1 ! clk "
        "$end)");
  CHECK(error_of("$var wire -1 ! clk $end\n") ==
        "error bad_data line 1 byte 0: found \"$var wire -1 ! clk $end\", "
        "expected type, width, identifier and name (write for example $var "
        "wire 1 ! clk $end)");
  CHECK(error_of("$scope $end\n") ==
        "error bad_data line 1 byte 0: found a $scope without kind and name "
        "(write $scope module NAME $end)");
  CHECK(error_of("$date $end\nclk 1\n") ==
        "error bad_data line 2 byte 11: found \"clk\" in the header, expected "
        "a keyword such as $var (a damaged file must be recorded again)");
  CHECK(error_of("$date $end\n") ==
        "error bad_data line 2 byte 11: found the end of the file in the "
        "header, expected $enddefinitions and value changes (the file is cut "
        "off or empty: record it again)");
  CHECK(error_of("$var wire 1 ! a $end\n$var wire 8 ! b $end\n") ==
        "error bad_data line 2 byte 21: found identifier \"!\" with width 8, "
        "earlier with width 1 (a damaged file must be recorded again)");
  CHECK(error_of(kHeader) ==
        "error bad_data line 6 byte 102: found no time such as #100 after the "
        "header, expected value changes with times (nothing was recorded: "
        "record the capture again)");
  CHECK(error_of("$enddefinitions $end #0") ==
        "error bad_data line 1 byte 20: found no $var in the header, expected "
        "at least one (dump the clock's signal as well)");
  CHECK(error_of("$comment sample rate: fast $end " + kHeader + "#0 0!") ==
        "error bad_data line 1 byte 0: found a comment that states the sample "
        "rate as \"fast\", expected a frequency with its unit such as 24 MHz "
        "and nothing else (state it with --sample-rate, or correct the comment "
        "or delete it)");
}

TEST_CASE("vcd: a bus or an event asked for by name says why not") {
  const std::string text =
      "$timescale 1ns $end $scope module top $end $var wire 8 \" count [7:0] "
      "$end $var event 1 # done $end $var wire 1 ! clk $end "
      "$enddefinitions $end #0 0!";
  CHECK(error_of(text, {"count"}) ==
        "error bad_data line ? byte ?: found channel \"top.count[7:0]\" to be "
        "a bus of 8 bits, expected one of its bits (name one of them, such as "
        "\"top.count[0]\")");
  CHECK(error_of(text, {"clk", "top.done"}) ==
        "error bad_data line 1 byte 74: found channel \"top.done\" to be an "
        "event, which has no level, expected a variable of one bit (dump the "
        "clock as a signal of its own)");
  CHECK(error_of(text, {"clock"}) ==
        "error bad_data line ? byte ?: found no channel \"clock\", there are "
        "\"top.clk\", \"top.count[7:0]\" (name one of these; of a bus one bit, "
        "such as \"top.count[0]\")");
  // It is not missing, so it is not skipped either.
  ReadOptions options;
  options.channels = {"count [7:0]"};
  options.skip_missing_channels = true;
  CHECK(described(read_text(text, options)) ==
        "error bad_data line ? byte ?: found channel \"top.count[7:0]\" to be "
        "a bus of 8 bits, expected one of its bits (name one of them, such as "
        "\"top.count[0]\")");
}

TEST_CASE("recognises_vcd: by the first token, not by the name of the file") {
  CHECK(recognises_vcd("$date today $end"));
  CHECK(recognises_vcd("\xEF\xBB\xBF\r\n $timescale 1ns $end"));
  CHECK_FALSE(recognises_vcd("time_s,clk\n0,1\n"));
  CHECK_FALSE(recognises_vcd("#10 0.5,1\n"));
  CHECK_FALSE(recognises_vcd("#1 channels\n0.5,1\n"));
  CHECK_FALSE(recognises_vcd("$datetime"));
}

}  // namespace
}  // namespace clockassay
