// SPDX-License-Identifier: GPL-3.0-or-later
// Reads what Icarus Verilog wrote for the test benches beside this file. Every
// number expected here follows from the constants of the bench, as its head
// comment derives.
#include <doctest/doctest.h>

#include <cstdint>
#include <string>
#include <vector>

#include "support/dump_edges.h"

namespace clockassay {
namespace {

using test::comb;
using test::runs_of;
using test::times;

Capture read_dump(const std::string& bench,
                  const std::vector<std::string>& channels = {}) {
  return test::read_dump(
      std::string(CLOCKASSAY_IVERILOG_DUMPS) + "/" + bench + ".vcd", channels);
}

TEST_CASE("iverilog: a clock and its dividers by 2 and 16, edge by edge") {
  const Capture capture = read_dump("dividers");
  CHECK(capture.grid.tick_s == *Rational::make(1, 1'000'000'000'000));
  CHECK(capture.last_stamp == Ticks(16'002'000));
  CHECK(capture.warnings.empty());
  struct Expected {
    const char* name;
    std::int64_t first_rise, half_period, cycles;
  };
  // Cycles that end by 16 002 000: 16 000 000 / 10 000 = 1600 of clk, half as
  // many of div2; 75 000 + 160 000 * 100 - 80 000 = 15 995 000: 100 of div16.
  for (const Expected e : {Expected{"dividers.clk", 5'000, 5'000, 1'600},
                           Expected{"dividers.div2", 5'000, 10'000, 800},
                           Expected{"dividers.div16", 75'000, 80'000, 100}}) {
    CAPTURE(e.name);
    const auto runs = runs_of(capture, e.name);
    REQUIRE(runs.size() == 1);
    CHECK(runs[0].known_from == 0);
    CHECK(runs[0].known_to == 16'002'000);
    CHECK(times(runs[0], Level::kHigh) ==
          comb(e.first_rise, 2 * e.half_period, e.cycles));
    CHECK(times(runs[0], Level::kLow) ==
          comb(e.first_rise + e.half_period, 2 * e.half_period, e.cycles));
  }
}

TEST_CASE("iverilog: bit 3 of the counter is the divider by 16") {
  const Capture capture =
      read_dump("dividers", {"count[3]", "div16", "dividers.count[0]"});
  REQUIRE(capture.channels.size() == 3);
  CHECK(runs_of(capture, "dividers.count[3]") ==
        runs_of(capture, "dividers.div16"));
  // Bit 0 turns at every rise of clk, from the first at 5 000 on.
  const auto runs = runs_of(capture, "dividers.count[0]");
  REQUIRE(runs.size() == 1);
  CHECK(times(runs[0], Level::kHigh) == comb(5'000, 20'000, 800));
  CHECK(times(runs[0], Level::kLow) == comb(15'000, 20'000, 800));
}

TEST_CASE("iverilog: two clocks as 21 to 5, exactly") {
  const Capture capture = read_dump("ratio");
  CHECK(capture.grid.tick_s ==
        *Rational::make(1, Int128{1'000'000'000'000'000}));
  CHECK(capture.warnings.empty());
  const auto source =
      times(runs_of(capture, "ratio.source").at(0), Level::kHigh);
  const auto out = times(runs_of(capture, "ratio.out").at(0), Level::kHigh);
  CHECK(source == comb(21'000, 42'000, 5'000));
  CHECK(out == comb(5'000, 10'000, 21'000));
  // Frequencies from first to last edge: 21 to 5 as an exact fraction.
  const auto frequency = [](const std::vector<std::int64_t>& edges) {
    return *Rational::make(static_cast<std::int64_t>(edges.size()) - 1,
                           edges.back() - edges.front());
  };
  CHECK(*divide(frequency(out), frequency(source)) == *Rational::make(21, 5));
}

TEST_CASE("iverilog: unknown, stopped, dumping off") {
  const Capture capture = read_dump("stop");
  CHECK(capture.grid.tick_s == Rational(1));
  CHECK(capture.last_stamp == Ticks(4'002));
  REQUIRE(capture.warnings.size() == 1);
  CHECK(capture.warnings[0].code == WarningCode::kUnknownLevels);
  for (const ChannelRecord& c : capture.channels) {
    CHECK(c.unknown_stretches == 1);  // the x at the start is not one
  }
  const auto runs = runs_of(capture, "stop.clk");
  REQUIRE(runs.size() == 2);
  CHECK(runs[0].known_from == 100);
  CHECK(runs[0].known_to == 2'502);
  auto rises = comb(104, 8, 100);
  auto falls = comb(108, 8, 100);
  for (const std::int64_t t : comb(1'704, 8, 100)) rises.push_back(t);
  for (const std::int64_t t : comb(1'708, 8, 100)) falls.push_back(t);
  CHECK(times(runs[0], Level::kHigh) == rises);
  CHECK(times(runs[0], Level::kLow) == falls);
  CHECK(runs[1].known_from == 3'302);
  CHECK(runs[1].known_to == 4'002);
  CHECK(times(runs[1], Level::kHigh) == comb(3'304, 8, 88));
  CHECK(times(runs[1], Level::kLow) == comb(3'308, 8, 87));
}

}  // namespace
}  // namespace clockassay
