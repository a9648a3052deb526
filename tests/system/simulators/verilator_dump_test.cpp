// SPDX-License-Identifier: GPL-3.0-or-later
// Reads what Verilator wrote for bus_clock.v. Every number expected here
// follows from the constants of the bench, as its head comment derives.
#include <doctest/doctest.h>

#include <string>
#include <vector>

#include "support/dump_edges.h"

namespace clockassay {
namespace {

using test::comb;
using test::runs_of;
using test::times;

Capture read_dump(const std::vector<std::string>& channels = {}) {
  return test::read_dump(std::string(CLOCKASSAY_DUMPS) + "/bus_clock.vcd",
                         channels);
}

TEST_CASE("verilator: an oscillator and a divider by 3, edge by edge") {
  const Capture capture = read_dump();
  CHECK(capture.grid.tick_s == *Rational::make(1, 1'000'000'000'000));
  CHECK(capture.last_stamp == Ticks(20'000'000));
  CHECK(capture.warnings.empty());
  REQUIRE(capture.channels.size() == 2);
  const auto osc = runs_of(capture, "TOP.bus_clock.osc");
  REQUIRE(osc.size() == 1);
  CHECK(times(osc[0], Level::kHigh) == comb(20'833, 41'666, 480));
  CHECK(times(osc[0], Level::kLow) == comb(41'666, 41'666, 480));
  const auto third = runs_of(capture, "TOP.bus_clock.third");
  REQUIRE(third.size() == 1);
  CHECK(times(third[0], Level::kHigh) == comb(20'833, 124'998, 160));
  CHECK(times(third[0], Level::kLow) == comb(62'499, 124'998, 160));
}

TEST_CASE("verilator: the clock is bit 3 of a bus, whichever way it runs") {
  // turned[0] is bus[7], so turned[4] is bus[3].
  const Capture capture = read_dump({"bus[3]", "turned[4]", "bus[0]"});
  REQUIRE(capture.channels.size() == 3);
  for (const char* name : {"TOP.bus_clock.bus[3]", "TOP.bus_clock.turned[4]"}) {
    CAPTURE(name);
    const auto runs = runs_of(capture, name);
    REQUIRE(runs.size() == 1);
    // Falls 8 rises of osc later: 312 495 + 8 * 41 666.
    CHECK(times(runs[0], Level::kHigh) == comb(312'495, 666'656, 30));
    CHECK(times(runs[0], Level::kLow) == comb(645'823, 666'656, 30));
  }
  const auto fastest = runs_of(capture, "TOP.bus_clock.bus[0]");
  CHECK(times(fastest.at(0), Level::kHigh) == comb(20'833, 83'332, 240));
}

}  // namespace
}  // namespace clockassay
