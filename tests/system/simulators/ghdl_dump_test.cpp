// SPDX-License-Identifier: GPL-3.0-or-later
// Reads what GHDL wrote for clocks.vhdl. Every number expected here follows
// from the constants of the bench, as its head comment derives.
#include <doctest/doctest.h>

#include <string>
#include <vector>

#include "support/dump_edges.h"

namespace clockassay {
namespace {

using test::comb;
using test::runs_of;
using test::times;

// Femtoseconds in a nanosecond.
constexpr std::int64_t kNs = 1'000'000;

Capture read_dump(const std::vector<std::string>& channels = {}) {
  return test::read_dump(std::string(CLOCKASSAY_DUMPS) + "/clocks.vcd",
                         channels);
}

TEST_CASE("ghdl: a clock of std_logic, edge by edge") {
  const Capture capture = read_dump();
  CHECK(capture.grid.tick_s ==
        *Rational::make(1, Int128{1'000'000'000'000'000}));
  CHECK(capture.last_stamp == Ticks(10'000 * kNs));
  CHECK(capture.warnings.empty());
  REQUIRE(capture.channels.size() == 3);
  const auto clk = runs_of(capture, "clocks.clk");
  REQUIRE(clk.size() == 1);
  CHECK(times(clk[0], Level::kHigh) == comb(31'250'000, 62'500'000, 160));
  CHECK(times(clk[0], Level::kLow) == comb(62'500'000, 62'500'000, 160));
}

TEST_CASE("ghdl: levels that are pulled only, from U by way of L to H") {
  const auto weak = runs_of(read_dump(), "clocks.weak");
  REQUIRE(weak.size() == 1);
  CHECK(weak[0].known_from == 10 * kNs);
  CHECK(times(weak[0], Level::kHigh) == comb(100 * kNs, 100 * kNs, 99));
  CHECK(times(weak[0], Level::kLow) == comb(150 * kNs, 100 * kNs, 99));
}

TEST_CASE("ghdl: a stretch of X is a gap") {
  const auto lost = runs_of(read_dump(), "clocks.lost");
  REQUIRE(lost.size() == 2);
  // Rises before 2 us: 31.25 + 62.5 k ns, k to 31; the fall at 2 us is X.
  CHECK(lost[0].known_to == 2'000 * kNs);
  CHECK(times(lost[0], Level::kHigh) == comb(31'250'000, 62'500'000, 32));
  CHECK(times(lost[0], Level::kLow) == comb(62'500'000, 62'500'000, 31));
  // At 3 us clk is low again; from there k = 48 to 159.
  CHECK(lost[1].known_from == 3'000 * kNs);
  CHECK(times(lost[1], Level::kHigh) == comb(3'031'250'000, 62'500'000, 112));
  CHECK(times(lost[1], Level::kLow) == comb(3'062'500'000, 62'500'000, 112));
}

TEST_CASE("ghdl: the clock is bit 3 of a bus, whichever way it runs") {
  const Capture capture = read_dump({"count[3]", "mirrored[0]"});
  REQUIRE(capture.channels.size() == 2);
  for (const char* name : {"clocks.count[3]", "clocks.mirrored[0]"}) {
    CAPTURE(name);
    const auto runs = runs_of(capture, name);
    REQUIRE(runs.size() == 1);
    // Rises of clk 7 + 16 k and, to fall, 15 + 16 k of 160: ten of each.
    CHECK(times(runs[0], Level::kHigh) == comb(468'750'000, 1'000 * kNs, 10));
    CHECK(times(runs[0], Level::kLow) == comb(968'750'000, 1'000 * kNs, 10));
  }
}

}  // namespace
}  // namespace clockassay
