// SPDX-License-Identifier: GPL-3.0-or-later
#include <doctest/doctest.h>

#include <cmath>
#include <cstdint>
#include <cstdio>
#include <map>
#include <numbers>
#include <random>
#include <string>

#include "clockassay/analysis/analyse.h"
#include "support/approx.h"
#include "support/read_text.h"

using namespace clockassay;
using test::read_text;

namespace {

// A sine of 0 … 3.3 V beside a logic level, in rows of one sampler whose time
// is off by `ppm` and drifts by `drift_ppm` more until the end.
struct MixedCapture {
  double sample_us = 1.0;  ///< by the instrument
  int decimals = 0;        ///< of the times, in microseconds
  int samples = 6000;
  double sine_us = 26.8;  ///< true periods
  double level_us = 71.3;
  double ppm = 50.0;
  double drift_ppm = 0.0;
  double noise = 0.0;  ///< rms, of the swing
};

std::string csv_of(const MixedCapture& c, std::mt19937_64& random) {
  std::uniform_real_distribution<double> uniform(0.0, 1.0);
  std::normal_distribution<double> normal;
  const double sine_start = c.sine_us * uniform(random);
  const double level_start = c.level_us * uniform(random);
  const double length = c.samples * c.sample_us;
  std::string text = "time_us,v,clk\n";
  for (int i = 0; i < c.samples; ++i) {
    const double shown = i * c.sample_us;
    const double rate = c.ppm + c.drift_ppm * shown / (2.0 * length);
    const double t = shown * (1.0 - 1e-6 * rate);
    const double v =
        1.65 +
        1.65 * std::sin(2.0 * std::numbers::pi * (t - sine_start) / c.sine_us) +
        3.3 * c.noise * normal(random);
    const double turns = (t - level_start) / c.level_us;
    char row[64];
    std::snprintf(row, sizeof row, "%.*f,%.4f,%d\n", c.decimals, shown, v,
                  turns - std::floor(turns) < 0.5 ? 1 : 0);
    text += row;
  }
  return text;
}

Result<CaptureResult> analyse(const std::string& text,
                              const ReferenceClock& reference,
                              const ReadOptions& read = {}) {
  ReadOptions options = read;
  options.analogue = AnalogueOptions{};
  const auto capture = read_text(text, options);
  REQUIRE_MESSAGE(capture.has_value(), capture.error().message);
  return analyse_against(reference, *capture, "capture.csv", {}, serial_for);
}

/// A reference of that period, in whole nanohertz, known to 1e-6 ppm.
ReferenceClock reference_of(const char* channel, double period_us) {
  const auto nanohertz = std::llround(1e15 / period_us);
  return {channel, Rational::make(nanohertz, 1'000'000'000).value(),
          Rational::make(1, 1'000'000)};
}

const ChannelResult& channel(const CaptureResult& r, const std::string& name) {
  for (const ChannelResult& c : r.channels) {
    if (c.name == name) return c;
  }
  FAIL("no channel " << name);
  return r.channels.front();
}

/// Whether U of a channel contains its true period, and is below a limit.
struct Hit {
  bool covered = false;
  double expanded_ppm = 0.0;
};

Hit hit(const Result<CaptureResult>& r, const std::string& name,
        double period_us) {
  REQUIRE_MESSAGE(r.has_value(), r.error().message);
  const ChannelResult& c = channel(*r, name);
  REQUIRE(c.budget);
  const FrequencyResult& f = c.budget->frequency;
  return {std::abs(f.value.value() - 1e6 / period_us) <=
              f.expanded_uncertainty.value(),
          f.expanded_uncertainty / f.value * 1e6};
}

TEST_CASE("analyse_against: an interpolated reference beside a sampled clock") {
  constexpr int kCaptures = 60;
  constexpr std::uint64_t kSeed = 31;
  CAPTURE(kSeed);
  std::mt19937_64 random(kSeed);
  std::uniform_real_distribution<double> uniform(-1.0, 1.0);
  int covered = 0;
  for (int i = 0; i < kCaptures; ++i) {
    CAPTURE(i);
    MixedCapture c;
    c.sine_us *= 1.0 + 0.1 * uniform(random);
    c.level_us *= 1.0 + 0.1 * uniform(random);
    c.ppm = 90.0 * uniform(random);
    c.drift_ppm = i % 2 == 0 ? 0.0 : 2000.0 * uniform(random);
    c.noise = i % 3 == 0 ? 0.01 : 0.0;
    const std::string text = csv_of(c, random);
    const Hit h =
        hit(analyse(text, reference_of("v", c.sine_us)), "clk", c.level_us);
    covered += h.covered;
    // A window of each, 3 samples, and as much for the half-width of two lines:
    // no more than three of them over the capture.
    CHECK(h.expanded_ppm < 9.0 / c.samples * 1e6);
  }
  // Of 60 at 95 % no more than 9 miss, but once in a thousand; these bounds
  // hold for any voltage, and more often than 95 %.
  CHECK(covered >= 51);
}

TEST_CASE("analyse_against: a sampled reference beside an interpolated clock") {
  // At 3 MS/s, the times rounded to 10 ns: the levels count samples then, the
  // voltage ticks of the text.
  constexpr int kCaptures = 20;
  constexpr std::uint64_t kSeed = 32;
  CAPTURE(kSeed);
  std::mt19937_64 random(kSeed);
  ReadOptions read;
  read.sample_rate_hz = Rational(3'000'000);
  int covered = 0;
  for (int i = 0; i < kCaptures; ++i) {
    CAPTURE(i);
    MixedCapture c;
    c.sample_us = 1.0 / 3.0;
    c.decimals = 2;
    c.drift_ppm = i % 2 == 0 ? 0.0 : 1000.0;
    const auto r =
        analyse(csv_of(c, random), reference_of("clk", c.level_us), read);
    const Hit h = hit(r, "v", c.sine_us);
    covered += h.covered;
    // 28 edges of the reference are too few to time others in a drift, which
    // is then in the half-widths.
    if (c.drift_ppm == 0.0) CHECK(h.expanded_ppm < 9.0 / c.samples * 1e6);
    CHECK(channel(*r, "clk").is_reference);
  }
  // Of 20 no more than 5 miss, but once in three thousand.
  CHECK(covered >= 15);
}

TEST_CASE("analyse_against: errors name the reference") {
  std::mt19937_64 random(33);
  const std::string text = csv_of({}, random);
  const auto none = analyse(text, reference_of("w", 26.8));
  REQUIRE_FALSE(none);
  CHECK(none.error().code == ErrorCode::kBadData);
  CHECK(none.error().message ==
        "reference: found no channel \"w\", there are \"v\", \"clk\"");
  const auto other = analyse(text, reference_of("v", 13.4));
  REQUIRE_FALSE(other);
  CHECK(other.error().message.starts_with("reference: channel v shows 373"));
  CHECK(
      other.error().message.ends_with(", expected 74626.8657 Hz within 10 %"));
  CHECK(other.error().hint ==
        "state its own frequency, or name another channel");
}

TEST_CASE("judge_capture: a timebase that drifts is no clock that settles") {
  // Two steady clocks, 10.03 and 11.99 MHz, in a time of 4 ms that runs by up
  // to 200 ppm faster: settling of 30 ppm cannot be told in it, and the clock
  // is not to blame.
  constexpr double kLength = 4e6;  // ns
  std::map<std::int64_t, std::string> changes;
  const auto add = [&](double period, char id) {
    for (int half = 1; half * period < 2.0 * kLength; ++half) {
      const double t = 0.5 * half * period;
      const double shown = t * (1.0 + 100e-6 * t / kLength);
      const auto stamp = static_cast<std::int64_t>(std::ceil(shown / 10.0));
      changes[stamp] += std::string(half % 2 == 1 ? "1" : "0") + id + "\n";
    }
  };
  add(99.7, 'r');
  add(83.381, 'c');
  std::string text =
      "$timescale 10 ns $end\n$comment sample rate: 100 MHz $end\n"
      "$var wire 1 r ref $end\n$var wire 1 c clk $end\n$enddefinitions $end\n"
      "#0\n0r\n0c\n";
  for (const auto& [stamp, change] : changes) {
    text += "#" + std::to_string(stamp) + "\n" + change;
  }
  const auto capture = read_text(text);
  REQUIRE(capture);
  const auto spec = parse_specification(
      R"({"clocks": [{"name": "c", "channel": "clk", "expect": "11993139.9Hz",
          "tolerance": "30ppm", "settle_within": "1ms"}]})");
  REQUIRE(spec);
  AnalysisOptions options;
  options.settling = {{"clk", *spec->clocks[0].settle_within_s}};
  const auto r = analyse_against(reference_of("ref", 0.0997), *capture, "x.vcd",
                                 options, serial_for);
  REQUIRE(r);
  // A linear drift of 200 ppm: 7/8 of 100 ppm at the ends, of an eighth.
  CHECK(channel(*r, "clk").time_wander.value() ==
        testing::approx(87.5).epsilon(0.05));
  CHECK_FALSE(channel(*r, "ref").settled_after);
  const auto verdicts = judge_capture(*spec, *r, r->reference->timebase);
  REQUIRE(verdicts);
  CHECK(verdicts->at(0).checks.front().decision == Decision::kPass);
  CHECK(verdicts->at(0).checks.back().check == "settling");
  CHECK(verdicts->at(0).checks.back().decision == Decision::kUndecided);
}

TEST_CASE("analyse_against: why a reference gives no frequency is said") {
  // Five seconds are 5e15 ticks, more than the 2^51 = 2.3e15 of exact sums.
  std::string text =
      "$timescale 1 fs $end\n$var wire 1 ! pps $end\n$enddefinitions $end\n"
      "#0\n0!\n";
  for (int half = 1; half <= 60; ++half) {
    text += "#" + std::to_string(half * 5'000'000'000'000'000) +
            (half % 2 == 1 ? "\n1!\n" : "\n0!\n");
  }
  const auto capture = read_text(text);
  REQUIRE(capture);
  const auto slow =
      analyse_against({"pps", Rational::make(1, 10).value(), Rational(1)},
                      *capture, "x.vcd", {}, serial_for);
  REQUIRE_FALSE(slow);
  CHECK(slow.error().message ==
        "reference: channel pps: the window of an edge is too many ticks "
        "long");
  CHECK(slow.error().hint.starts_with("write the times with fewer decimals"));
}

TEST_CASE("analyse_against: a reference is matched as any channel is") {
  const std::string head =
      "$timescale 10 ns $end\n$comment sample rate: 100 MHz $end\n"
      "$scope module a $end $var wire 1 ! ref $end $upscope $end\n"
      "$scope module b $end $var wire 1 \" ref $end $upscope $end\n"
      "$var wire 1 # clk $end\n$enddefinitions $end\n#0\n0!\n0\"\n0#\n";
  std::string text = head;
  for (int k = 0; k < 200; ++k) {
    text += "#" + std::to_string(10 + 40 * k) + "\n1!\n1\"\n1#\n";
    text += "#" + std::to_string(30 + 40 * k) + "\n0!\n0\"\n0#\n";
  }
  const auto analysed = [&](const char* name) {
    const auto capture = read_text(text);
    REQUIRE(capture);
    return analyse_against({name, Rational(2'500'000), Rational(1)}, *capture,
                           "x.vcd", {}, serial_for);
  };
  const auto full = analysed("a.ref");
  REQUIRE(full);
  CHECK(full->channels[0].is_reference);
  CHECK_FALSE(full->channels[1].is_reference);
  CHECK(full->reference->channel == "a.ref");
  const auto several = analysed("ref");
  REQUIRE_FALSE(several);
  CHECK(several.error().code == ErrorCode::kUsage);
  CHECK(several.error().message == "reference: found several channels ref");
  CHECK(several.error().hint == "give the full name");
}

TEST_CASE("analyse_against: clocks locked to one sampler are not certain") {
  // All three at 40 samples exactly: one window over the capture at least.
  std::string text =
      "$timescale 10 ns $end\n$comment sample rate: 100 MHz $end\n"
      "$var wire 1 ! ref $end $var wire 1 \" clk $end\n"
      "$enddefinitions $end\n#0\n0!\n0\"\n";
  for (int k = 0; k < 500; ++k) {
    text += "#" + std::to_string(10 + 40 * k) + "\n1!\n1\"\n";
    text += "#" + std::to_string(30 + 40 * k) + "\n0!\n0\"\n";
  }
  const auto capture = read_text(text);
  REQUIRE(capture);
  const auto r = analyse_against({"ref", Rational(2'500'000), Rational(1)},
                                 *capture, "x.vcd", {}, serial_for);
  REQUIRE(r);
  const Budget& b = *channel(*r, "clk").budget;
  CHECK(b.frequency.value.value() == testing::approx(2.5e6).epsilon(1e-12));
  // 1 of 20 000 samples is 50 ppm.
  CHECK(b.expanded_ppm.value() > 50.0);
  bool said = false;
  for (const Warning& w : r->warnings) {
    said = said || w.code == WarningCode::kReferenceCommensurate;
    CHECK(w.code != WarningCode::kReferenceDoubtful);
  }
  CHECK(said);
}

TEST_CASE("analyse_against: few edges beside a clock that runs shortly") {
  // 60 pulses of the reference, 4000 ticks apart; the clock runs from 100 003
  // to 112 443, in which there are four, at 100 010, 104 010, ….
  std::map<std::int64_t, std::string> changes;
  for (std::int64_t k = 0; k < 60; ++k) {
    changes[10 + 4000 * k] += "1!\n";
    changes[1010 + 4000 * k] += "0!\n";
  }
  for (std::int64_t k = 0; k < 312; ++k) {
    changes[100'003 + 40 * k] += "1\"\n";
    changes[100'023 + 40 * k] += "0\"\n";
  }
  std::string text =
      "$timescale 10 ns $end\n$comment sample rate: 100 MHz $end\n"
      "$var wire 1 ! ref $end $var wire 1 \" clk $end\n"
      "$enddefinitions $end\n#0\n0!\n0\"\n";
  for (const auto& [tick, levels] : changes) {
    text += "#" + std::to_string(tick) + "\n" + levels;
  }
  const auto capture = read_text(text);
  REQUIRE(capture);
  const auto r = analyse_against({"ref", Rational(25'000), Rational(1)},
                                 *capture, "x.vcd", {}, serial_for);
  REQUIRE(r);
  for (const Warning& w : r->warnings) {
    CHECK(w.code != WarningCode::kReferenceDoubtful);
  }
  std::string said;
  for (const Warning& w : channel(*r, "clk").warnings) {
    if (w.code == WarningCode::kReferenceDoubtful) said = w.message;
  }
  CHECK(said.starts_with(
      "in the time of this clock the reference has only 4 rising edges"));
}

}  // namespace

TEST_CASE("analyse_against: beyond the last slow reference edge is no stop") {
  // A clock of 40 us beside a reference of 10 ms, which ends 9 ms before the
  // clock does: that is 225 periods of the clock, in which it runs.
  std::string text =
      "$timescale 1 us $end\n$comment sample rate: 1 MHz $end\n"
      "$var wire 1 ! clk $end $var wire 1 \" slow $end\n"
      "$enddefinitions $end\n#0\n0!\n0\"\n";
  for (int t = 20; t < 299'000; t += 20) {
    text += "#" + std::to_string(t) + "\n" + (t % 40 == 20 ? "1" : "0") + "!\n";
    if (t % 10'000 == 20) text += "1\"\n";
    if (t % 10'000 == 5'020) text += "0\"\n";
  }
  const auto capture = read_text(text);
  REQUIRE(capture);
  const auto r = analyse_against(reference_of("slow", 10'000.0), *capture,
                                 "capture.vcd", {}, serial_for);
  REQUIRE_MESSAGE(r.has_value(), r.error().message);
  for (const Warning& w : channel(*r, "clk").warnings) {
    CHECK(w.code != WarningCode::kClockStopped);
  }
  CHECK(channel(*r, "clk").budget);
}
