// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/capture/stamp_group.h"

#include <doctest/doctest.h>

#include <string>
#include <string_view>

namespace clockassay {
namespace {

Level level_of(char letter) {
  return letter == '0'   ? Level::kLow
         : letter == '1' ? Level::kHigh
                         : Level::kUnknown;
}

StampGroup group_of(std::string_view levels) {
  StampGroup group;
  group.start(Ticks(7));
  for (const char c : levels) group.add(level_of(c));
  return group;
}

TEST_CASE("StampGroup: the last level counts, a level resumed is a pulse") {
  struct Case {
    char before;
    const char* levels;
    char after;
    int pulses;
  };
  for (const Case& c : {
           Case{'0', "1", '1', 0},
           Case{'0', "0", '0', 0},
           Case{'0', "10", '0', 1},    // 0 1 0
           Case{'0', "101", '1', 1},   // 0 1 0 1: one of them led nowhere
           Case{'0', "1010", '0', 2},  // 0 1 0 1 0
           Case{'1', "10", '0', 0},    // 1 0
           Case{'x', "10", '0', 0},    // nothing was left and resumed
           Case{'x', "101", '1', 1},
           Case{'0', "x", 'x', 0},
           Case{'0', "x1", '1', 0},   // x did not outlast the stamp
           Case{'0', "1x0", '0', 1},  // nor does it hide the pulse
           Case{'0', "1x", 'x', 0},
           Case{'0', "10x", 'x', 1},
       }) {
    CAPTURE(c.before);
    CAPTURE(std::string(c.levels));
    const auto settled = group_of(c.levels).settle(level_of(c.before));
    CHECK(settled.level == level_of(c.after));
    CHECK(settled.zero_width_pulses == c.pulses);
  }
}

// What a piece writes of a stamp: first and last known level, "unknown" if it
// ends so, and the pulses so far.
TEST_CASE(
    "StampGroup: a stamp divided by a cut gives the same as a whole one") {
  constexpr std::string_view kLetters = "01x";
  for (int number = 0; number < 3 * 3 * 3 * 3 * 3; ++number) {
    std::string levels;
    for (int rest = number, i = 0; i < 5; ++i, rest /= 3) {
      levels += kLetters[static_cast<std::size_t>(rest % 3)];
    }
    for (std::size_t cut = 0; cut <= levels.size(); ++cut) {
      CAPTURE(levels);
      CAPTURE(cut);
      StampGroup joined;
      joined.start(Ticks(7));
      std::int64_t pulses = 0;
      for (const auto part : {std::string_view(levels).substr(0, cut),
                              std::string_view(levels).substr(cut)}) {
        const StampGroup group = group_of(part);
        if (group.first_known() != Level::kUnknown) {
          joined.add(group.first_known());
        }
        if (group.last_known() != group.first_known()) {
          joined.add(group.last_known());
        }
        if (group.ends_unknown()) joined.add(Level::kUnknown);
        pulses += group.zero_width_pulses();
      }
      for (const char before : kLetters) {
        CAPTURE(before);
        const auto whole = group_of(levels).settle(level_of(before));
        const auto parts = joined.settle(level_of(before));
        CHECK(parts.level == whole.level);
        CHECK(parts.zero_width_pulses + pulses == whole.zero_width_pulses);
      }
    }
  }
}

TEST_CASE("StampGroup: a new stamp forgets the one before") {
  StampGroup group;
  CHECK(group.empty());
  group.start(Ticks(1));
  group.add(Level::kHigh);
  group.add(Level::kUnknown);
  group.start(Ticks(2));
  CHECK_FALSE(group.empty());
  CHECK(group.time() == Ticks(2));
  CHECK(group.first_known() == Level::kUnknown);
  CHECK_FALSE(group.ends_unknown());
}

}  // namespace
}  // namespace clockassay
