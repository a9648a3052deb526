// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/estimate/pulse_widths.h"

#include <doctest/doctest.h>

#include "support/test_stretch.h"

using namespace clockassay;

TEST_CASE("count_pulses: highs and lows against a length, in any blocks") {
  // Highs of 1, 2, 1; lows of 9, 8 between them; the last fall is left out.
  const std::vector<std::int64_t> rises = {0, 10, 20, 30};
  const std::vector<std::int64_t> falls = {1, 12, 21, 31};
  const TestStretch s = stretch_from_edges(rises, falls, 2048);
  const PulseWidths one = count_pulses(EdgeView(s.stretch), 1.25, serial_for);
  CHECK(one.highs == 3);
  CHECK(one.long_highs == 1);
  CHECK(one.long_lows == one.lows);
  const PulseWidths eight = count_pulses(EdgeView(s.stretch), 8.5, serial_for);
  CHECK(eight.long_highs == 0);
  CHECK(eight.long_lows == eight.lows - 1);
  // A low across two blocks may be left out, nothing else.
  const TestStretch parts = stretch_from_edges(rises, falls, 1);
  CHECK(count_pulses(EdgeView(parts.stretch), 1.25, serial_for).highs == 3);
}

TEST_CASE("may_be_missed: one longer pulse in twenty is jitter") {
  CHECK(may_be_missed({100, 4, 100, 100}));
  CHECK_FALSE(may_be_missed({100, 5, 100, 100}));
  CHECK(may_be_missed({100, 100, 100, 0}));
  CHECK_FALSE(may_be_missed({0, 0, 0, 0}));
}
