// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/capture/capture_reader.h"

#include <doctest/doctest.h>

#include <random>
#include <string>
#include <vector>

#include "support/read_text.h"

namespace clockassay {
namespace {

using test::described;
using test::Feed;
using test::read_text;

const std::string kHeader =
    "$timescale 1ns $end\n$var wire 1 ! clk $end\n$var wire 1 # led $end\n"
    "$var wire 1 #1 odd $end\n$var real 64 \" level $end\n"
    "$enddefinitions $end\n";

// Whatever the cuts, the feed and the threads: the same, errors included.
void check_every_split(const std::string& text) {
  const std::string whole = described(read_text(text));
  for (std::size_t piece_bytes = 1; piece_bytes <= text.size() + 1;
       ++piece_bytes) {
    CAPTURE(text);
    CAPTURE(piece_bytes);
    REQUIRE(described(read_text(text, {}, {piece_bytes, 1, 1})) == whole);
    REQUIRE(described(read_text(text, {}, {piece_bytes, 3, 7})) == whole);
    REQUIRE(described(read_text(text, {}, {piece_bytes, 1, 5, true})) == whole);
    REQUIRE(described(read_text(text, {}, {piece_bytes, 3, 99, true})) ==
            whole);
  }
}

// The same for pieces too short for any run of records, and for longer ones.
void check_pieces(const std::string& text) {
  const std::string whole = described(read_text(text));
  for (const std::size_t piece_bytes : {3U, 50U, 100U, 150U, 300U}) {
    CAPTURE(text);
    CAPTURE(piece_bytes);
    REQUIRE(described(read_text(text, {}, {piece_bytes, 1, 1})) == whole);
    REQUIRE(described(read_text(text, {}, {piece_bytes, 2, 9, true})) == whole);
  }
}

TEST_CASE("read_capture: pieces of any size give the same capture") {
  check_every_split(
      kHeader +
      "#0 $dumpvars 0! x# 0#1 r1.5 \" $end #5 1! #10 0! 1! 0! #10 1! #15 0! "
      "#20 1! 1# #20 #25 x! #25 0! #30 1! #35 0! #40 1! #45 0! 0# #50");
}

TEST_CASE(
    "read_capture: a cut in a comment, at an identifier or in a dump "
    "section is found out") {
  // Every " #digit" that is no stamp: in comments, as identifier #1 after a
  // vector, after a real number, after a lone value, within $dumpoff.
  check_every_split(kHeader +
                    "#0 0! 0#1 #3 $comment #1 1! #2 #9 x $end 1! #5 b1 #1 "
                    "1# #6 0 #1 #7 b0001 #1 #8 0! r1 \" #9 1 #1 #10 "
                    "$dumpoff x! bx #1 b1 #1 $end #20 $dumpon 1! b0 #1 $end "
                    "#25 0! #30 $dumpvars b1 #1 #40 0#1 #50");
  // A comment before the first stamp, and one with nothing behind it.
  check_every_split(kHeader + "1! $comment #1 #2 $end b1 #1 #7 0! #9");
  check_every_split(kHeader + "$dumpvars 1! #7 0! #9 $comment #1 $end ");
}

TEST_CASE("read_capture: that dumping is off is known beyond every cut") {
  check_every_split(kHeader +
                    "#0 0! 0# #5 1! #7 $dumpoff x! x# $end #9 1! #10 0! 1# "
                    "#11 #12 $dumpall 0! $end #13 b1 #1 #14 $dumpon 1! $end "
                    "#20 0! 1# #25 $dumpoff #26 1! #27");
  check_every_split(kHeader + "$dumpoff $end 1! #2 0! #3 1! #4 $dumpon #5 0!");
}

TEST_CASE(
    "read_capture: the first error in file order is found, whatever "
    "the cuts") {
  check_every_split(kHeader + "#0 0!\n#5 1! foo #6 bar 0! #3 #7");
  check_every_split(kHeader + "#0 0!\n#50 1! #6 1! foo\n");
  check_every_split(kHeader + "#0 0!\n#50 1!\n\n#6\n 1! \n");
  check_every_split(kHeader + "#0 0! #5 $comment #1 #2 #3 ");
  check_every_split(kHeader + "#0 0! #5 1! b10 #1 #7 0! ");
  check_every_split(kHeader + "#0 0! #5 r1 #1 #7 0! ");
  check_every_split(kHeader + "#0 0! #5 1 #3 #7 0! ");
  check_every_split(kHeader + "#0 0! #5x #7 0! ");
}

TEST_CASE("read_capture: an end cut off is seen, whatever the cuts") {
  for (const char* end : {"#1", "#1\n", "#1.0", "#", "b1", "r1 ", "#5x", "1"}) {
    check_every_split(kHeader + "#0 0! #5 1! #10 0! " + end);
  }
  // What would be counted of the stamp that is left out is left out with it.
  check_every_split(kHeader + "#0 0! #83\n0!\n#10.00000");
  check_every_split(kHeader + "#0 0! #83\n$dumpvars 0!\n#10\n");
  check_every_split(kHeader + "#0 0! #83\n$comment #1 #2 $end 0?\n#10.00000");
}

TEST_CASE("read_capture: random dumps, random cuts") {
  constexpr unsigned kSeed = 41;
  const std::vector<std::string> words{"0!",
                                       "1!",
                                       "x!",
                                       "0#",
                                       "1#",
                                       "b0 #1",
                                       "b1 #1",
                                       "1#1",
                                       "r2 \"",
                                       "0?",
                                       "$comment #1 $end",
                                       "$dumpoff x! x# $end",
                                       "$dumpall 1! $end",
                                       "$dumpvars 0!"};
  for (unsigned round = 0; round < 60; ++round) {
    std::mt19937 random(kSeed + round);
    CAPTURE(kSeed + round);
    std::uniform_int_distribution<std::size_t> word(0, words.size() - 1);
    std::uniform_int_distribution<int> step(0, 3);
    std::string text = kHeader;
    int time = 0;
    for (int i = 0; i < 60; ++i) {
      if (step(random) < 2) {
        text += "#" + std::to_string(time += step(random)) + "\n";
      }
      text += words[word(random)] + (step(random) == 0 ? "\r\n" : " ");
    }
    const std::string whole = described(read_text(text));
    for (const std::size_t piece_bytes : {1U, 2U, 3U, 5U, 7U, 11U, 30U, 100U}) {
      CAPTURE(piece_bytes);
      REQUIRE(described(read_text(text, {}, {piece_bytes, 2, 13})) == whole);
      REQUIRE(described(read_text(text, {}, {piece_bytes, 2, 13, true})) ==
              whole);
    }
  }
}

// 60 000 cycles of 3 … 5 ticks: many blocks, a header beyond one prefix.
TEST_CASE("read_capture: a long capture with a long header, on threads") {
  std::string text = "$comment " + std::string(200'000, 'c') + " $end\n" +
                     "$timescale 1ns $end $var wire 1 ! clk $end "
                     "$enddefinitions $end\n0!\n";
  std::int64_t time = 100;
  for (int i = 0; i < 60'000; ++i) {
    text += "#" + std::to_string(time) + "\n1!\n#" + std::to_string(time + 2) +
            "\n0!\n";
    time += 3 + i % 3;
  }
  const auto whole = read_text(text);
  REQUIRE(whole);
  const auto channel = test::plain_channel(whole->channels.at(0));
  REQUIRE(channel.runs.size() == 1);
  // The first rise falls on the first stamp: there the level begins.
  CHECK(channel.runs[0].edges.size() == 2 * 60'000 - 1);
  CHECK(whole->bytes == static_cast<std::int64_t>(text.size()));
  const std::string expected = described(whole);
  for (const std::size_t jobs : {1U, 2U, 5U}) {
    CHECK(described(read_text(text, {}, {10'000, jobs, 4'097})) == expected);
  }
}

TEST_CASE("read_capture: runs of stamps and changes, whatever ends them") {
  // Pairs from #80 on, so that the digits become three; the odd one in their
  // middle ends the run there, and pieces of a few bytes know no runs.
  const std::vector<std::string> odd_ones{"",
                                          "1#\n",
                                          "#200\n#200\n",
                                          "x!\n",
                                          "1!\n",
                                          "$comment 1! $end\n",
                                          "#199\n",
                                          "\r\n",
                                          "#200 1! 0!\n",
                                          "#0200\n",
                                          "b1 !\n",
                                          "foo\n",
                                          "1\n!\n",
                                          "$dumpoff x! x# $end\n"};
  for (const std::string& odd : odd_ones) {
    for (const std::string blank : {"\n", "\r\n", " "}) {
      std::string text = kHeader + "#0 0! 0#\n";
      for (int i = 0; i < 24; ++i) {
        text += "#" + std::to_string(80 + 10 * i) + blank +
                (i % 2 == 0 ? "1!" : "0!") + blank;
        if (i == 12) text += odd;
      }
      check_pieces(text);
    }
  }
}

TEST_CASE("read_capture: runs of rows, whatever ends them") {
  const std::vector<std::string> odd_ones{"",
                                          "# a comment\n",
                                          "0.205,1,0\n",
                                          "0.205,0,1\n",
                                          "0.204,,0\n",
                                          "\n",
                                          "0.205,x,0\n",
                                          "0.1,1,0\n",
                                          "0.2050,1,0\n",
                                          "foo,1,0\n",
                                          "0.205,1\n",
                                          "2.05e-1,1,0\n",
                                          "0.205,1,0\r\n",
                                          "0.205,2,0\n"};
  for (const std::string& odd : odd_ones) {
    for (const std::string header :
         {"time_s,clk,led\n", "time_ms,clk,led\n", "time_s,led,clk\n"}) {
      std::string text = header;
      for (int i = 0; i < 24; ++i) {
        text += "0." + std::to_string(80 + 10 * i) +
                (i % 2 == 0 ? ",1,0\n" : ",0,0\n");
        if (i == 2) text += "0.105,0,0\n0.106,1,0\n0.107,0,0\n0.108,1,0\n";
        if (i == 12) text += odd;
      }
      // "0.80" is more than "0.100": times begin there.
      text.erase(text.find("0.80"), text.find("0.100") - text.find("0.80"));
      check_pieces(text);
    }
  }
}

TEST_CASE("read_capture: a capture without a place to cut is one piece") {
  std::string body = "#0\n0!\n";
  for (int i = 0; i < 5'000; ++i) body += "1?\n";
  const auto result = read_text(kHeader + body, {}, {16, 4, 100});
  REQUIRE(result);
  CHECK(result->bytes ==
        static_cast<std::int64_t>(kHeader.size() + body.size()));
}

TEST_CASE("read_capture: what is no capture is refused by name") {
  CHECK(described(read_text("")) ==
        "error bad_data line 1 byte 0: found an empty file, expected a capture "
        "(record the capture again)");
  CHECK(described(read_text("hello, world\n")).starts_with("error bad_data"));
  ReadOptions options;
  options.format = "wav";
  const auto result = read_text(kHeader + "#0 0!", options);
  REQUIRE_FALSE(result);
  CHECK(result.error().code == ErrorCode::kUsage);
  CHECK(result.error().message.starts_with(
      "found format \"wav\", there are vcd"));
  options.format = "vcd";
  CHECK(described(read_text("time_s,clk\n0,1\n", options)) ==
        "error bad_data line 1 byte 0: found \"time_s,clk\" in the header, "
        "expected a keyword such as $var (a damaged file must be recorded "
        "again)");
}

TEST_CASE("read_capture: a failing source is reported, after earlier errors") {
  const auto failing = [](const std::string& text) {
    return read_capture(
        [text, at = std::size_t{0}](
            std::span<char> buffer) mutable -> Result<std::size_t> {
          if (at == text.size()) {
            return failure(ErrorCode::kReadFailed, "the disk is gone");
          }
          const std::size_t n =
              std::min({buffer.size(), text.size() - at, std::size_t{70'000}});
          std::copy_n(text.data() + at, n, buffer.data());
          at += n;
          return n;
        },
        {}, {1'000, 4}, serial_for);
  };
  std::string good = kHeader + "0!\n";
  for (int i = 0; i < 20'000; ++i) good += "#" + std::to_string(i) + "\n1!\n";
  REQUIRE_FALSE(failing(good));
  CHECK(failing(good).error().message == "the disk is gone");
  std::string bad = good;
  bad.insert(bad.size() - 8'000, " foo ");
  REQUIRE_FALSE(failing(bad));
  CHECK(failing(bad).error().message.starts_with("found "));
}

}  // namespace
}  // namespace clockassay
