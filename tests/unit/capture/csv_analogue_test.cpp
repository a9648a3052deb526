// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/csv_analogue.h"

#include <doctest/doctest.h>

#include <cmath>
#include <cstdint>
#include <numbers>
#include <random>
#include <string>
#include <vector>

#include "clockassay/base/decimal.h"

using clockassay::analogue_place;
using clockassay::analogue_swing;
using clockassay::analogue_text;
using clockassay::analogue_value;
using clockassay::AnalogueOptions;
using clockassay::AnalogueScale;
using clockassay::AnalogueTrack;
using clockassay::ErrorCode;
using clockassay::Int128;
using clockassay::Level;
using clockassay::LevelEvent;
using clockassay::plan_analogue;
using clockassay::Rational;
using clockassay::Ticks;

namespace {

// Threshold and hysteresis in units of the values.
AnalogueScale scale_of(Int128 threshold, Int128 hysteresis) {
  AnalogueOptions options;
  options.threshold = Rational::make(threshold, 1);
  options.hysteresis = Rational::make(hysteresis, 1);
  return plan_analogue({}, options).value();
}

// A sample every `step` ticks from 0 on.
std::vector<LevelEvent> statements(const AnalogueScale& scale,
                                   const std::vector<std::int64_t>& values,
                                   std::int64_t step = 1000) {
  AnalogueTrack track;
  std::vector<LevelEvent> events;
  std::int64_t time = 0;
  for (const std::int64_t value : values) {
    if (const auto event = track.take(scale, Ticks(time), value)) {
      events.push_back(*event);
    }
    time += step;
  }
  return events;
}

using Events = std::vector<LevelEvent>;

}  // namespace

TEST_CASE("analogue_value: decimal text in whole places, exactly") {
  CHECK(analogue_value("1.25", '.', -3) == 1250);
  CHECK(analogue_value("-3.30E-02", '.', -3) == -33);
  CHECK(analogue_value("0,5", ',', -1) == 5);
  CHECK(analogue_value("0.000", '.', 0) == 0);
  CHECK_FALSE(analogue_value("1.25", '.', -1).has_value());
  for (const char* cell : {"", "x", "z", "NaN", "inf", "-", "3.3V", "0x10"}) {
    CHECK_FALSE(analogue_value(cell, '.', -3).has_value());
  }
  // 2^125 is 4.25e37.
  CHECK(analogue_value("4.2e37", '.', 0).has_value());
  CHECK_FALSE(analogue_value("4.3e37", '.', 0).has_value());
  CHECK_FALSE(analogue_value("1e38", '.', 0).has_value());
  CHECK_FALSE(analogue_value("1e300", '.', 0).has_value());
}

TEST_CASE("analogue_text: a number as one would write it") {
  CHECK(analogue_text(1650, -3) == "1.65");
  CHECK(analogue_text(-5, -3) == "-0.005");
  CHECK(analogue_text(0, -34) == "0");
  CHECK(analogue_text(3000, -3) == "3");
  CHECK(analogue_text(12, 0) == "12");
}

TEST_CASE("analogue_place: doubles printed in full fit") {
  const std::vector<std::string_view> sine = {
      "3.2999999999999998", "1.2246467991473532e-16", "-1.6499999999999999"};
  const int place = analogue_place(sine, '.', {});
  CHECK(place == -34);
  for (std::string_view cell : sine) {
    CHECK(analogue_value(cell, '.', place).has_value());
  }
  // 400 times the largest of them too.
  CHECK(analogue_value("1320.5", '.', place).has_value());
  // A threshold above silence makes room for what is to come.
  const std::vector<std::string_view> silence = {"0.001", "0.002"};
  CHECK(analogue_place(silence, '.', {}) == -37);
  CHECK(analogue_place(silence, '.', Rational(2)) == -34);
  CHECK(analogue_place({}, '.', {}) == -37);
}

TEST_CASE("analogue_swing: levels are medians either side of the middle") {
  // Middle of 0 … 10 is 5: below are 0 1 2, above 8 9 10 10.
  auto swing = analogue_swing({10, 0, 8, 1, 9, 2, 10}, 0);
  CHECK(swing.low == 1);
  CHECK(swing.high == 9);  // lower median of four
  CHECK(swing.least == 0);
  CHECK(swing.greatest == 10);
  CHECK(swing.middle() == 5);
  // 199 values: no spike is left out, and the middle of 0 … 1000 is 500.
  std::vector<Int128> values;
  for (int i = 0; i < 198; ++i) values.push_back(i % 2 == 0 ? 0 : 10);
  values.push_back(1000);
  CHECK(analogue_swing(values, 0).high == 1000);
  // 200 values: one either side is left out.
  values.push_back(10);
  swing = analogue_swing(values, 0);
  CHECK(swing.low == 0);
  CHECK(swing.high == 10);
  // A pulse in one part of a hundred is no spike.
  values.assign(396, 0);
  values.insert(values.end(), 4, 10);
  CHECK(analogue_swing(values, 0).high == 10);
  CHECK_FALSE(analogue_swing({7, 7, 7}, 0).middle().has_value());
}

TEST_CASE("plan_analogue: what is not stated follows from the swing") {
  const auto swing = analogue_swing({0, 0, 3300, 3300}, -3);
  auto scale = plan_analogue(swing, {}).value();
  CHECK(scale.threshold == 1650);
  CHECK(scale.hysteresis == 330);
  CHECK(scale.high_from == 1815);
  CHECK(scale.low_to == 1485);
  CHECK(scale.automatic_threshold);
  CHECK(scale.automatic_hysteresis);
  AnalogueOptions options;
  options.threshold = *Rational::make(4, 5);
  options.hysteresis = *Rational::make(1, 1000);
  scale = plan_analogue(swing, options).value();
  CHECK(scale.threshold == 800);
  // Half a step either way: 800.5 and 799.5 in whole steps.
  CHECK(scale.high_from == 801);
  CHECK(scale.low_to == 799);
  CHECK_FALSE(scale.automatic_threshold);
  CHECK_FALSE(scale.automatic_hysteresis);
}

TEST_CASE("plan_analogue: refuses what it cannot hold or find") {
  AnalogueOptions options;
  const auto flat = plan_analogue(analogue_swing({25, 25}, -1), options);
  REQUIRE_FALSE(flat.has_value());
  CHECK(flat.error().code == ErrorCode::kBadData);
  CHECK(flat.error().message ==
        "found only the value 2.5 in the first rows, expected two levels");
  CHECK(flat.error().hint ==
        "say where low turns to high with --threshold VOLTS");
  options.threshold = *Rational::make(1, 3);
  const auto third = plan_analogue(analogue_swing({0, 9}, -1), options);
  REQUIRE_FALSE(third.has_value());
  CHECK(third.error().code == ErrorCode::kUsage);
  CHECK(third.error().message ==
        "found a threshold or hysteresis with too many digits, expected at "
        "most 34 more than the values have before them");
  CHECK(third.error().hint == "write it with fewer digits");
  options.threshold = Rational(1);
  options.hysteresis = *Rational::make(-1, 2);
  const auto negative = plan_analogue(analogue_swing({0, 9}, -1), options);
  REQUIRE_FALSE(negative.has_value());
  CHECK(negative.error().code == ErrorCode::kUsage);
  CHECK(negative.error().message ==
        "found a negative hysteresis, expected zero or more");
}

TEST_CASE("AnalogueTrack: an edge is where the line crosses the threshold") {
  // From -1 to 3 the line is at 0 after a quarter, from 3 to -2 after 3/5.
  CHECK(statements(scale_of(0, 0), {-1, 3, -2}) ==
        Events{{Ticks(0), Level::kLow},
               {Ticks(250), Level::kHigh},
               {Ticks(1600), Level::kLow}});
  // A third of 1000 is 333, two thirds 667.
  CHECK(statements(scale_of(0, 0), {-1, 2, -1})[1].time == Ticks(333));
  CHECK(statements(scale_of(0, 0), {-2, 1, -1})[1].time == Ticks(667));
  // Halves go to the later tick.
  CHECK(statements(scale_of(0, 0), {-1, 1}, 5)[1].time == Ticks(3));
}

TEST_CASE("AnalogueTrack: the last crossing before the level turns counts") {
  // High from 5 on, low to -5. Up at 3/4 of the first step, back in the middle
  // of the second, and up again at a third of the one from -3 to 6.
  CHECK(statements(scale_of(0, 10), {-9, 3, -3, 6, 9}) ==
        Events{{Ticks(0), Level::kLow}, {Ticks(2333), Level::kHigh}});
  // Nothing turns within the band, and noise there is no edge.
  CHECK(statements(scale_of(0, 10), {-9, 4, -4, 4, -4}) ==
        Events{{Ticks(0), Level::kLow}});
  // Falling the same way.
  CHECK(statements(scale_of(0, 10), {9, -3, 3, -3, -9}) ==
        Events{{Ticks(0), Level::kHigh}, {Ticks(2500), Level::kLow}});
}

TEST_CASE("AnalogueTrack: nothing is known before the band is left") {
  CHECK(statements(scale_of(0, 10), {4, -4, 4}).empty());
  CHECK(statements(scale_of(0, 10), {4, -4, 5, -9}) ==
        Events{{Ticks(2000), Level::kHigh},
               {Ticks(2000) + Ticks(357), Level::kLow}});  // 5/14 of a step
}

TEST_CASE("AnalogueTrack: a sample at the threshold is a crossing itself") {
  CHECK(statements(scale_of(0, 0), {-1, 0, 1}) ==
        Events{{Ticks(0), Level::kLow}, {Ticks(1000), Level::kHigh}});
  CHECK(statements(scale_of(0, 2), {-1, 0, 1, 0, -1}) ==
        Events{{Ticks(0), Level::kLow},
               {Ticks(1000), Level::kHigh},
               {Ticks(3000), Level::kLow}});
}

TEST_CASE(
    "AnalogueTrack: crossings of the longest times and values are exact") {
  const std::int64_t far = std::int64_t{1} << 61;
  const Int128 most = (Int128{1} << 125) - 1;
  AnalogueTrack track;
  const AnalogueScale scale = scale_of(0, 0);
  CHECK(track.take(scale, Ticks(-far), -most)->time == Ticks(-far));
  CHECK(track.take(scale, Ticks(far), most)->time == Ticks(0));
  AnalogueTrack near_end;
  CHECK_FALSE(near_end.take(scale_of(0, 2), Ticks(-far), 0).has_value());
  // From most to -1: the line is at 0 less than a tick before the end.
  AnalogueTrack late;
  CHECK(late.take(scale, Ticks(-far), most)->level == Level::kHigh);
  CHECK(late.take(scale, Ticks(far), -1)->time == Ticks(far));
}

TEST_CASE("AnalogueTrack: remembers the range and the longest step") {
  AnalogueTrack track;
  CHECK(track.empty());
  const AnalogueScale scale = scale_of(100, 0);
  track.take(scale, Ticks(0), 5);
  track.take(scale, Ticks(10), -7);
  track.take(scale, Ticks(40), 3);
  track.take(scale, Ticks(50), 9);
  CHECK(track.least() == -7);
  CHECK(track.greatest() == 9);
  CHECK(track.longest_step() == Ticks(30));
  CHECK_FALSE(track.has_turned());
}

TEST_CASE("AnalogueTrack: saved and loaded anywhere it goes on the same") {
  constexpr std::uint64_t kSeed = 20;
  CAPTURE(kSeed);
  std::mt19937_64 random(kSeed);
  std::uniform_int_distribution<std::int64_t> value(-100, 100);
  const AnalogueScale scale = scale_of(3, 41);
  AnalogueTrack whole;
  AnalogueTrack cut;
  for (std::int64_t i = 0; i < 500; ++i) {
    const Int128 v = Int128{value(random)} << (i % 3 == 0 ? 70 : 0);
    CHECK(whole.take(scale, Ticks(i * 7), v) ==
          cut.take(scale, Ticks(i * 7), v));
    std::vector<std::int64_t> numbers = {-1};
    cut.save(numbers);
    numbers.push_back(99);
    std::span<const std::int64_t> rest(numbers);
    rest = rest.subspan(1);
    cut = AnalogueTrack::load(rest);
    CHECK(rest.size() == 1);
    CHECK(cut.least() == whole.least());
    CHECK(cut.greatest() == whole.greatest());
    CHECK(cut.longest_step() == whole.longest_step());
    CHECK(cut.has_turned() == whole.has_turned());
  }
  CHECK(whole.has_turned());
}

TEST_CASE("AnalogueTrack: a sine is timed to the bound of its interpolation") {
  // v(t) = sin(2 pi t / P), sampled every h = P / 20, in whole steps of 10^-9.
  // Linear interpolation is off by at most h^2/8 max|v''| in value (its
  // remainder), near the zero crossing: within one step of it |v''| is at most
  // w^2 sin(w h), w = 2 pi / P. The chord's slope there is at least
  // w cos(w h). So the crossing is off by at most
  //   (h^2/8) w^2 sin(w h) / (w cos(w h)) = (h/8) (w h) tan(w h),
  // beside 1/2 step of 10^-9 in a value and half a tick.
  const double period = 1'000'003.7;  // ticks
  const double step = 50'000.0;
  const double w = 2.0 * std::numbers::pi / period;
  const double bound = step / 8.0 * (w * step) * std::tan(w * step) +
                       0.5e-9 / (w * std::cos(w * step)) + 0.5;
  std::vector<std::int64_t> values;
  for (int i = 0; i < 4000; ++i) {
    const double t = 50'000.0 * i;
    values.push_back(std::llround(std::sin(w * (t - 12'345.6)) * 1e9));
  }
  const Events events = statements(scale_of(0, 100'000'000), values, 50'000);
  REQUIRE(events.size() > 398);
  double worst = 0.0;
  for (std::size_t i = 1; i < events.size(); ++i) {
    const double expected =
        12'345.6 + period * 0.5 * static_cast<double>(i - 1);
    const auto time = static_cast<double>(events[i].time.count());
    worst = std::max(worst, std::abs(time - expected));
    // The capture begins low.
    CHECK((events[i].level == Level::kHigh) == (i % 2 == 1));
  }
  CHECK(worst <= bound);
  // It is an interpolation: no sample step is anywhere near as fine.
  CHECK(bound < step / 20.0);
}
