// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/vcd_header.h"

#include <doctest/doctest.h>

#include <string>

namespace clockassay {
namespace {

Result<VcdHeader> header(const std::string& text) {
  bool needs_more = false;
  auto result = parse_vcd_declarations(text, true, needs_more);
  CHECK_FALSE(needs_more);
  return result;
}

const std::string kEnd = " $enddefinitions $end\n";

TEST_CASE("vcd header: names are scopes and reference, selects are glued") {
  const auto h = header(
      "$timescale\n 10\n ns $end $scope module top $end\n"
      "$var wire 1 ! clk $end $var reg 8 \" bus [7:0] $end\n"
      "$scope begin $end $var wire 1 # q [3] $end $upscope $end\n"
      "$scope module \\a.b $end $var logic 1 $ with blank $end\n"
      "$upscope $end $upscope $end $var wire 1 % out[0] $end" +
      kEnd);
  REQUIRE(h);
  CHECK(*h->tick_s == *Rational::make(1, 100'000'000));
  REQUIRE(h->vars.size() == 5);
  CHECK(h->vars[0].name == "top.clk");
  CHECK(h->vars[1].name == "top.bus");
  REQUIRE(h->vars[1].bits);
  CHECK(h->vars[1].bits->text() == "[7:0]");
  CHECK(h->vars[1].range_declared);
  CHECK(h->vars[2].name == "top.q[3]");
  CHECK(h->vars[3].name == "top.\\a.b.with blank");
  CHECK(h->vars[4].name == "out[0]");
  for (const std::size_t i : {0U, 2U, 3U, 4U}) {
    CHECK_FALSE(h->vars[i].bits);
    CHECK(h->vars[i].unusable.empty());
  }
  CHECK(h->unusual_syntax == 1);  // the scope without a name
  CHECK(h->warnings.empty());
}

TEST_CASE("vcd header: variables without a level are not usable") {
  const auto h = header(
      "$var real 64 ! a $end $var event 1 \" b $end $var string 0 # c $end "
      "$var port [3:0] <0 d $end $var parameter 1 $ e $end "
      "$var wire 0 % f $end" +
      kEnd);
  REQUIRE(h);
  CHECK(h->vars[0].unusable == "a real number");
  CHECK(h->vars[1].unusable == "an event, which has no level");
  CHECK(h->vars[2].unusable == "a string");
  CHECK(h->vars[3].unusable.empty());  // its bits have levels
  CHECK(h->vars[4].unusable == "a parameter, which is constant");
  CHECK(h->vars[5].unusable == "a variable of no bits");
}

TEST_CASE("vcd header: keywords nobody knows are skipped and counted") {
  const auto h =
      header("$attrbegin misc 02 x 1 $end $var wire 1 ! clk $end" + kEnd);
  REQUIRE(h);
  CHECK(h->unusual_syntax == 1);
  CHECK(h->vars.size() == 1);
}

TEST_CASE("vcd header: a comment may speak of keywords") {
  const auto h = header(
      "$comment $var $scope x is not handled $end "
      "$var wire 1 ! clk $end" +
      kEnd);
  REQUIRE(h);
  CHECK(h->vars.size() == 1);
}

TEST_CASE("vcd header: a comment may state the sample rate") {
  const auto h = header("$comment Sample Rate: 24 MHz\n $end" + kEnd);
  REQUIRE(h);
  REQUIRE(h->sample_rate_hz);
  REQUIRE(*h->sample_rate_hz);
  CHECK(**h->sample_rate_hz == Rational(24'000'000));
  const auto twice = header(
      "$comment sample rate: 24 MHz $end $comment sample rate: 12 MHz $end" +
      kEnd);
  REQUIRE(twice);
  REQUIRE_FALSE(*twice->sample_rate_hz);
  CHECK(twice->sample_rate_hz->error().message ==
        "found a comment with sample rate 12000000 Hz after one with 24000000 "
        "Hz");
  CHECK(twice->sample_rate_hz->error().byte == 34);
}

TEST_CASE("vcd header: the first stamp or dump ends one without an end") {
  for (const std::string body : {"#0 1!", "$dumpvars 1! $end"}) {
    const auto h = header("$var wire 1 ! clk $end " + body);
    REQUIRE(h);
    REQUIRE(h->warnings.size() == 1);
    CHECK(h->warnings[0].code == WarningCode::kHeaderUnfinished);
    CHECK(h->warnings[0].message ==
          "found no $enddefinitions; the values begin at byte 23");
    CHECK(h->end == 23);
  }
}

TEST_CASE("vcd header: the same timescale twice is tolerated") {
  const auto h = header("$timescale 1ns $end $timescale 1 ns $end" + kEnd);
  REQUIRE(h);
  CHECK(h->unusual_syntax == 1);
}

TEST_CASE("vcd header: more is asked for wherever the prefix ends") {
  const std::string text =
      "$scope module top $end $var wire 1 ! clk $end " + kEnd + "#0";
  for (std::size_t size = 0; size + 3 < text.size(); ++size) {
    CAPTURE(size);
    bool needs_more = false;
    (void)parse_vcd_declarations(text.substr(0, size), false, needs_more);
    CHECK(needs_more);
  }
  bool needs_more = false;
  CHECK(parse_vcd_declarations(text, false, needs_more));
  CHECK_FALSE(needs_more);
}

}  // namespace
}  // namespace clockassay
