// SPDX-License-Identifier: GPL-3.0-or-later
#include <doctest/doctest.h>

#include <array>
#include <cmath>
#include <cstdio>
#include <random>

#include "clockassay/analysis/analyse.h"
#include "clockassay/capture/capture_writer.h"
#include "support/approx.h"
#include "support/read_text.h"

using namespace clockassay;
using test::read_text;

namespace {

constexpr const char* kHeader =
    "$timescale 10 ns $end\n$comment sample rate: 100 MHz $end\n"
    "$var wire 1 ! clk $end $var wire 1 \" led $end\n"
    "$enddefinitions $end\n#0\n0!\n0\"\n";

/// Changes of `id` every 20 ticks (period 400 ns) from tick `from` on.
std::string pulses(std::int64_t from, int cycles, char id = '!') {
  std::string text;
  for (int k = 0; k < cycles; ++k) {
    text += "#" + std::to_string(from + 40 * k) + "\n1" + id + "\n";
    text += "#" + std::to_string(from + 40 * k + 20) + "\n0" + id + "\n";
  }
  return text;
}

CaptureResult analyse(const std::string& text,
                      const AnalysisOptions& options = {}) {
  const auto capture = read_text(text);
  REQUIRE(capture);
  return analyse_capture(*capture, "capture.vcd", options, serial_for);
}

const Warning* find(const std::vector<Warning>& warnings, WarningCode code) {
  for (const Warning& w : warnings) {
    if (w.code == code) return &w;
  }
  return nullptr;
}

}  // namespace

TEST_CASE("analyse_capture: what the file says of itself is kept") {
  const CaptureResult r = analyse(kHeader + pulses(100, 50) + "#5000\n");
  CHECK(r.path == "capture.vcd");
  CHECK(r.format == "vcd");
  CHECK(r.tick.value() == 1e-8);
  CHECK(r.sample_interval.value().value() == 1e-8);
  CHECK(r.sample_interval_source == "header");
  CHECK(r.duration.value() == testing::approx(50e-6));
  REQUIRE(r.channels.size() == 1);
  CHECK(r.channels[0].name == "clk");
  REQUIRE(r.idle_channels.size() == 1);
  CHECK(r.idle_channels[0].name == "led");
  CHECK(r.idle_channels[0].edges == 0);
  CHECK(r.channels[0].edges.rising == 50);
  CHECK(r.channels[0].edges.falling == 50);
  CHECK(r.channels[0].budget->frequency.value.value() ==
        testing::approx(2.5e6));
}

TEST_CASE("analyse_capture: an assumed timebase is said, a stated one not") {
  const std::string text = kHeader + pulses(100, 50);
  const CaptureResult assumed = analyse(text);
  const Warning* w = find(assumed.warnings, WarningCode::kTimebaseAssumed);
  REQUIRE(w != nullptr);
  CHECK(w->message ==
        "the instrument's timebase is not stated; ±100 ppm is assumed");
  AnalysisOptions options;
  options.timebase = {TimebaseKind::kStated, Ppm(0.0), Ppm(2.0)};
  CHECK(find(analyse(text, options).warnings, WarningCode::kTimebaseAssumed) ==
        nullptr);
}

TEST_CASE("analyse_capture: after a stop the last stretch is the result") {
  // 400 ns, silence, then 800 ns.
  std::string text = kHeader + pulses(100, 300);
  for (int k = 0; k < 300; ++k) {
    text += "#" + std::to_string(30000 + 80 * k) + "\n1!\n";
    text += "#" + std::to_string(30040 + 80 * k) + "\n0!\n";
  }
  const CaptureResult r = analyse(text);
  REQUIRE(r.channels.size() == 1);
  const ChannelResult& c = r.channels[0];
  REQUIRE(c.stretches.size() == 2);
  CHECK(c.stretches[0].budget->frequency.value.value() ==
        testing::approx(2.5e6));
  CHECK(c.budget->frequency.value.value() == testing::approx(1.25e6));
  const Warning* w = find(c.warnings, WarningCode::kSeveralStretches);
  REQUIRE(w != nullptr);
  CHECK(w->message ==
        "the capture falls into 2 stretches; the result is that of the last, "
        "which begins at 0.0003 s, after the clock stopped");
  CHECK(forbids_pass(c.warnings));
}

TEST_CASE("analyse_capture: --from and --span choose the stretch analysed") {
  // The first 100 periods only: 40 us of 120.
  AnalysisOptions options;
  options.from_s = Rational(0);
  options.span_s = *Rational::make(41, 1'000'000);
  const CaptureResult r = analyse(kHeader + pulses(100, 300), options);
  REQUIRE(r.channels.size() == 1);
  // Rises at 100 + 40 k ticks up to 4100: k = 0 … 100; falls up to 4080.
  CHECK(r.channels[0].edges.rising == 101);
  CHECK(r.channels[0].edges.falling == 100);
}

TEST_CASE("analyse_capture: whose last digit the times resolve is said") {
  // A double of this size moves by 2^30 / 2^52 s = 238.4 ns.
  std::string text = "time_s,clk\n";
  for (int i = 0; i < 200; ++i) {
    std::array<char, 40> row;
    std::snprintf(row.data(), row.size(), "%.9f,%d\n", 1.7e9 + 1e-6 * i,
                  i / 4 % 2);
    text += row.data();
  }
  CaptureResult r = analyse(text);
  CHECK(r.text_resolution.value() == testing::approx(239e-9));
  CHECK(r.text_resolution_reason ==
        "the last bit of the floating point number that the largest time was");
  r = analyse("time_s,clk\n0.0e-3,0\n2.5e-3,1\n5.0e-3,0\n1.0e-2,1\n");
  CHECK(r.text_resolution_reason == "the last digit that the largest time has");
}

TEST_CASE("analyse_capture: repairs are counted and the first are listed") {
  // Cycle 100 of 300 is lost: rise at tick 4100, the next at 4140.
  const CaptureResult r =
      analyse(kHeader + pulses(100, 100) + pulses(4140, 199));
  const ChannelResult& c = r.channels.at(0);
  CHECK(c.edges.missing == 1);
  CHECK(c.edges.extra == 0);
  const Warning* w = find(c.warnings, WarningCode::kEdgesRepaired);
  REQUIRE(w != nullptr);
  CHECK(w->message ==
        "1 lost cycle and 0 extra edges were found and left out of the line: "
        "lost before 4.14e-05 s; pulses as captured are 3344 ppm fewer than "
        "cycles of the line");
  CHECK_FALSE(warning_info(w->code).forbids_pass);
}

TEST_CASE("analyse_capture: a clock that stops is warned of") {
  const CaptureResult r = analyse(kHeader + pulses(100, 300) + "#100000\n");
  CHECK(find(r.channels.at(0).warnings, WarningCode::kClockStopped) != nullptr);
  CHECK(forbids_pass(r.channels[0].warnings));
}

TEST_CASE("analyse_capture: finds a simulated frequency within its claim") {
  // Truth: 12 MHz and 17 ppm, sampled at 100 MHz for 10 ms.
  for (const char* format : {"csv", "vcd"}) {
    SimulatedClockOptions options;
    options.offset_ppm = Rational(17);
    options.duration_s = *Rational::make(1, 100);
    options.jitter_rms_s = 1e-9;
    options.seed = 3;
    const auto simulated = simulate_clock(options);
    REQUIRE(simulated);
    const auto text = std::string_view(format) == "csv"
                          ? csv_text(*simulated, "clk")
                          : vcd_text(*simulated, "clk");
    REQUIRE(text);
    AnalysisOptions analysis;
    analysis.timebase = {TimebaseKind::kStated, Ppm(0.0), Ppm(1e-9)};
    const CaptureResult r = analyse(*text, analysis);
    const Budget& b = r.channels.at(0).budget.value();
    const double truth = 12e6 * (1.0 + 17e-6);
    CHECK(std::abs(b.frequency.value.value() - truth) <
          b.frequency.expanded_uncertainty.value());
    // Wide, but no wider than two samples over the capture: 2 ppm.
    CHECK(b.frequency.expanded_uncertainty.value() / truth < 2e-6);
  }
}

TEST_CASE(
    "analyse_capture: pulses missing in a pattern are not another clock") {
  // Every third and every seventh pulse lost: what is left has a steady mean.
  for (int every : {3, 7}) {
    std::string text = kHeader;
    for (int k = 0; k < 3000; ++k) {
      if (k % every == every - 1) continue;
      text += pulses(100 + 40 * k, 1);
    }
    CAPTURE(every);
    // No clock at all, the true one with its losses listed, or no pass.
    const CaptureResult r = analyse(text);
    const bool honest =
        r.channels.empty() || forbids_pass(r.channels[0].warnings) ||
        (r.channels[0].edges.missing > 0 &&
         std::abs(r.channels[0].budget->frequency.value.value() - 2.5e6) < 1e3);
    CHECK(honest);
  }
}

TEST_CASE(
    "analyse_capture: extra edges at one place of the period are doubted") {
  // A clock of 400 ns; in the middle of every tenth low half a further pulse.
  std::string piled = kHeader, spread = kHeader;
  for (int k = 0; k < 3000; ++k) {
    for (std::string* text : {&piled, &spread}) {
      *text += pulses(100 + 40 * k, 1);
      if (k % 10 != 5) continue;
      const int at = 100 + 40 * k + (text == &piled ? 30 : 22 + (7 * k) % 16);
      *text += "#" + std::to_string(at) + "\n1!\n#" + std::to_string(at + 1) +
               "\n0!\n";
    }
  }
  CHECK(find(analyse(piled).channels.at(0).warnings,
             WarningCode::kRepairDoubtful) != nullptr);
  const CaptureResult honest = analyse(spread);
  CHECK(find(honest.channels.at(0).warnings, WarningCode::kRepairDoubtful) ==
        nullptr);
  CHECK(honest.channels[0].edges.extra == 600);
}

TEST_CASE("analyse_capture: another frequency in the last cycles is doubted") {
  // 60 cycles of 400 ns, then some of twice or half that period: up to 16 gaps
  // are no regime of their own. Up to four repairs may be damage like any
  // other.
  for (int last = 3; last <= 18; ++last) {
    for (int period : {20, 80}) {
      std::string text = kHeader + pulses(100, 60);
      for (int k = 0; k < last; ++k) {
        const int t = 100 + 40 * 60 + period * k;
        text += "#" + std::to_string(t) + "\n1!\n#" +
                std::to_string(t + period / 2) + "\n0!\n";
      }
      const CaptureResult r = analyse(text);
      CAPTURE(last);
      CAPTURE(period);
      const EdgeCounts& e = r.channels.at(0).edges;
      const bool doubted =
          e.missing + e.extra < 5 || forbids_pass(r.channels[0].warnings);
      CHECK(doubted);
    }
  }
}

TEST_CASE("analyse_capture: repairs beside strong jitter are doubted") {
  // A clock of 400 ns with edges of 1/40 and of 7/40 period rms, every
  // twentieth pulse lost. Periods vary by the root of two more: 0.035, 0.25.
  constexpr std::uint64_t kSeed = 4;
  INFO("seed ", kSeed);
  for (const double rms : {1.0, 7.0}) {
    CAPTURE(rms);
    std::mt19937_64 random(kSeed);
    std::normal_distribution<double> normal(0.0, rms);
    std::string text = kHeader;
    int last = 0;
    for (int k = 0; k < 1000; ++k) {
      for (const char level : {'1', '0'}) {
        const int at = 100 + 40 * k + (level == '1' ? 0 : 20);
        last = std::max(last + 1,
                        at + static_cast<int>(std::lround(normal(random))));
        if (k % 20 == 10) continue;
        text += "#" + std::to_string(last) + "\n" + level + "!\n";
      }
    }
    const auto result = analyse(text);
    const auto& warnings = result.channels.at(0).warnings;
    CHECK(find(warnings, WarningCode::kEdgesRepaired) != nullptr);
    CHECK((find(warnings, WarningCode::kRepairDoubtful) != nullptr) ==
          (rms > 5.0));
  }
}

TEST_CASE("analyse_capture: repairs crowd at the ends of what is analysed") {
  // A further pulse in each of cycles 92, 95, 99 of 300, and in some others: in
  // the middle of the capture, but at the end of its first 101 cycles, up to
  // tick 4140.
  std::string text = kHeader;
  for (int k = 0; k < 300; ++k) {
    text += pulses(100 + 40 * k, 1);
    if (k != 92 && k != 95 && k != 99 && k % 45 != 10) continue;
    const int at = 100 + 40 * k + 28;
    text += "#" + std::to_string(at) + "\n1!\n#" + std::to_string(at + 2) +
            "\n0!\n";
  }
  CHECK(find(analyse(text).channels.at(0).warnings,
             WarningCode::kRepairDoubtful) == nullptr);
  AnalysisOptions options;
  options.span_s = *Rational::make(414, 10'000'000);
  CHECK(find(analyse(text, options).channels.at(0).warnings,
             WarningCode::kRepairDoubtful) != nullptr);
}

namespace {

/// Pulses at those instants [ticks] of 20 ticks, or half a short period.
std::string pulses_at(const std::vector<int>& rises) {
  std::string text = kHeader;
  for (std::size_t i = 0; i + 1 < rises.size(); ++i) {
    const int high = std::min(20, (rises[i + 1] - rises[i]) / 2);
    text += "#" + std::to_string(rises[i]) + "\n1!\n#" +
            std::to_string(rises[i] + high) + "\n0!\n";
  }
  return text;
}

}  // namespace

TEST_CASE("analyse_capture: repairs in a crowd may be another frequency") {
  // 500 cycles of 400 ns, a few of 300, 500 or 1200 ns that end where one of
  // the first kind would begin, and 500 more of these: one regime, with
  // repairs.
  for (const int period : {30, 50, 120}) {
    for (const int odd : {8, 12, 16}) {
      std::vector<int> rises;
      int t = 100;
      for (int k = 0; k < 1000 + odd; ++k) {
        rises.push_back(t);
        t += k >= 500 && k < 500 + odd ? period : 40;
      }
      CAPTURE(period);
      CAPTURE(odd);
      CHECK(forbids_pass(analyse(pulses_at(rises)).channels.at(0).warnings));
    }
  }
}

TEST_CASE("analyse_capture: damage by chance is no crowd") {
  // One pulse in fifty is lost. A crowd is seen by chance in some captures of
  // ten thousand: in two of 100 with a probability below 1e-3.
  constexpr std::uint64_t kSeed = 6;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  int doubted = 0;
  for (int trial = 0; trial < 100; ++trial) {
    std::vector<int> rises;
    for (int k = 0; k < 1000; ++k) {
      if (k < 20 || k > 980 || random() % 50 != 0)
        rises.push_back(100 + 40 * k);
    }
    doubted += find(analyse(pulses_at(rises)).channels.at(0).warnings,
                    WarningCode::kRepairDoubtful) != nullptr;
  }
  CHECK(doubted < 2);
}

TEST_CASE("analyse_capture: cycles missing at even intervals are doubted") {
  // 3000 cycles of 400 ns, one in 500 swallowed: the frequency is that of the
  // periods, the pulses are 6 of 2999 fewer.
  std::vector<int> rises;
  for (int k = 0; k < 3000; ++k) {
    if (k % 500 != 250) rises.push_back(100 + 40 * k);
  }
  rises.push_back(100 + 40 * 3000);  // what ends the last pulse
  const CaptureResult swallowed = analyse(pulses_at(rises));
  const ChannelResult& channel = swallowed.channels.at(0);
  CHECK(channel.edges.missing == 6);
  REQUIRE(channel.regular_repairs);
  CHECK(channel.regular_repairs->places == 6);
  CHECK(channel.regular_repairs->spacing == 499);
  CHECK(channel.as_captured.value() ==
        testing::approx(-6.0 / 2999.0 * 1e6).epsilon(1e-12));
  CHECK(find(channel.warnings, WarningCode::kRepairsRegular) != nullptr);
  CHECK(forbids_pass(channel.warnings));
  CHECK(forbids_fail(channel.warnings));
  // As many at places of no order.
  rises.clear();
  for (int k = 0; k < 3000; ++k) {
    const bool is_lost =
        k == 70 || k == 211 || k == 1200 || k == 1630 || k == 1722 || k == 2900;
    if (!is_lost) rises.push_back(100 + 40 * k);
  }
  rises.push_back(100 + 40 * 3000);
  const CaptureResult damaged = analyse(pulses_at(rises));
  CHECK(damaged.channels.at(0).edges.missing == 6);
  CHECK_FALSE(damaged.channels[0].regular_repairs);
  CHECK_FALSE(forbids_pass(damaged.channels[0].warnings));
}
