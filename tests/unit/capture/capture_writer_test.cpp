// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/capture/capture_writer.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <string>
#include <vector>

#include "support/read_text.h"

namespace {

using clockassay::csv_text;
using clockassay::ErrorCode;
using clockassay::Level;
using clockassay::Rational;
using clockassay::simulate_clock;
using clockassay::SimulatedCapture;
using clockassay::SimulatedClockOptions;
using clockassay::vcd_text;

SimulatedCapture three_edges(Rational sample_rate_hz) {
  SimulatedCapture capture;
  capture.sample_rate_hz = sample_rate_hz;
  capture.last_sample = 12;
  capture.first_level = Level::kLow;
  capture.edges = {1, 3, 10};
  return capture;
}

std::string line_of(const std::string& text, std::size_t number) {
  std::size_t at = 0;
  for (; number > 1; --number) at = text.find('\n', at) + 1;
  return text.substr(at, text.find('\n', at) - at);
}

}  // namespace

TEST_CASE("csv_text: a row per change, the first and the last sample") {
  CHECK(csv_text(three_edges(Rational(1'000'000)), "clk").value() ==
        "# simulated by clockassay\n"
        "# sample rate: 1000000 Hz\n"
        "time_s,clk\n"
        "0.000000,0\n"
        "0.000001,1\n"
        "0.000003,0\n"
        "0.000010,1\n"
        "0.000012,1\n");
}

TEST_CASE("csv_text: a change at the last sample is not written twice") {
  SimulatedCapture capture = three_edges(Rational(1));
  capture.last_sample = 10;
  capture.first_level = Level::kHigh;
  CHECK(csv_text(capture, "clk").value() ==
        "# simulated by clockassay\n"
        "# sample rate: 1 Hz\n"
        "time_s,clk\n"
        "0,1\n"
        "1,0\n"
        "3,1\n"
        "10,0\n");
}

TEST_CASE("csv_text: all decimals of a finite interval, else picoseconds") {
  // 1 / 1.6 GHz = 0.625 ns
  CHECK(line_of(csv_text(three_edges(Rational(1'600'000'000)), "c").value(),
                5) == "0.000000000625,1");
  // 1 / 24 MHz = 41.6666… ns; the third of these is 125 ns.
  const std::string text =
      csv_text(three_edges(Rational(24'000'000)), "c").value();
  CHECK(line_of(text, 2) == "# sample rate: 24000000 Hz");
  CHECK(line_of(text, 5) == "0.000000041667,1");
  CHECK(line_of(text, 6) == "0.000000125000,0");
  CHECK(line_of(text, 7) == "0.000000416667,1");
}

TEST_CASE("csv_text: a rate that is no finite decimal is not stated") {
  const std::string text =
      csv_text(three_edges(*Rational::make(100'000'000, 3)), "c").value();
  CHECK(line_of(text, 2) == "time_s,c");
  CHECK(line_of(text, 4) == "0.00000003,1");
}

TEST_CASE("vcd_text: the coarsest timescale that divides the interval") {
  CHECK(vcd_text(three_edges(Rational(1'000'000)), "clk").value() ==
        "$version simulated by clockassay $end\n"
        "$comment sample rate: 1000000 Hz $end\n"
        "$timescale 1 us $end\n"
        "$scope module capture $end\n"
        "$var wire 1 ! clk $end\n"
        "$upscope $end\n"
        "$enddefinitions $end\n"
        "#0\n0!\n#1\n1!\n#3\n0!\n#10\n1!\n#12\n1!\n");
  const auto timescale = [](Rational rate) {
    return line_of(vcd_text(three_edges(rate), "c").value(), 3);
  };
  CHECK(timescale(Rational(100'000'000)) == "$timescale 10 ns $end");
  CHECK(timescale(Rational(8'000'000)) == "$timescale 1 ns $end");
  CHECK(timescale(Rational(1'600'000'000)) == "$timescale 1 ps $end");
  CHECK(timescale(Rational(1)) == "$timescale 1 s $end");
  CHECK(timescale(Rational(16'000'000'000)) == "$timescale 100 fs $end");
}

TEST_CASE("vcd_text: where no timescale divides, picoseconds to the nearest") {
  const std::string text =
      vcd_text(three_edges(Rational(24'000'000)), "c").value();
  CHECK(line_of(text, 3) == "$timescale 1 ps $end");
  CHECK(line_of(text, 10) == "#41667");  // 41 666.67
  CHECK(line_of(text, 12) == "#125000");
}

TEST_CASE("capture_writer: no name is a formula in a spreadsheet") {
  const SimulatedCapture capture = three_edges(Rational(1'000'000));
  for (const std::string name : {"=1+1", "+a", "-a", "@a"}) {
    CHECK(csv_text(capture, name).error().message ==
          "found the channel name \"" + name +
              "\", which a spreadsheet takes for a formula");
    CHECK(vcd_text(capture, name).has_value());
  }
  CHECK(csv_text(capture, "a=b").has_value());
}

TEST_CASE("capture_writer: names the formats cannot hold are refused") {
  const SimulatedCapture capture = three_edges(Rational(1'000'000));
  CHECK(csv_text(capture, "a,b").error().message ==
        "found the channel name \"a,b\", expected printable ASCII without "
        "blanks or any of ,;\"'#");
  CHECK(csv_text(capture, "a,b").error().code == ErrorCode::kUsage);
  for (const char* name : {"", "a b", "a\tb", "\xC3\xA4", "a;b", "\"a\""}) {
    CAPTURE(std::string(name));
    CHECK_FALSE(csv_text(capture, name).has_value());
  }
  for (const char* name : {"", "a b", "$end", "\xC3\xA4"}) {
    CAPTURE(std::string(name));
    CHECK_FALSE(vcd_text(capture, name).has_value());
  }
}

TEST_CASE("capture_writer: an interval that cannot be written is refused") {
  // 1 / 6e11 Hz = 1.666… ps: two samples would round to one picosecond.
  const SimulatedCapture fast = three_edges(Rational(600'000'000'000));
  for (const auto& text : {csv_text(fast, "c"), vcd_text(fast, "c")}) {
    REQUIRE_FALSE(text.has_value());
    CHECK(text.error().message ==
          "found a sample interval below 2 ps that is no whole number of "
          "femtoseconds, which cannot be written");
    CHECK(text.error().hint == "choose a sample rate such as 1GHz");
  }
}

TEST_CASE("write_csv: comes in bounded parts and stops when told to") {
  SimulatedClockOptions options;
  options.cycles = 20'000;
  const SimulatedCapture capture = simulate_clock(options).value();
  std::string all;
  std::size_t longest = 0;
  const auto whole =
      clockassay::write_csv(capture, "clk", [&](std::string_view part) {
        longest = std::max(longest, part.size());
        all += part;
        return true;
      });
  CHECK(whole.has_value());
  CHECK(all == csv_text(capture, "clk").value());
  CHECK(longest < 65536 + 100);  // a part and one row

  int calls = 0;
  const auto stopped =
      clockassay::write_csv(capture, "clk", [&](std::string_view) {
        ++calls;
        return false;
      });
  REQUIRE_FALSE(stopped.has_value());
  CHECK(stopped.error().code == ErrorCode::kWriteFailed);
  CHECK(stopped.error().message == "writing the capture failed");
  CHECK(calls == 1);
}

TEST_CASE("write_vcd: what is simulated and written is read back exactly") {
  SimulatedClockOptions options;
  options.offset_ppm = Rational(-40);
  options.cycles = 5000;
  options.jitter_rms_s = 3e-9;
  options.drop_probability = 0.001;
  const SimulatedCapture simulated = simulate_clock(options).value();
  const auto read =
      clockassay::test::read_text(vcd_text(simulated, "clk_out").value());
  REQUIRE(read.has_value());
  CHECK(read->warnings.empty());
  CHECK(read->grid.sample_interval_s == Rational::make(1, 100'000'000));
  REQUIRE(read->channels.size() == 1);
  const auto channel = clockassay::test::plain_channel(read->channels[0]);
  REQUIRE(channel.runs.size() == 1);
  std::vector<clockassay::LevelEvent> expected;
  bool high = simulated.first_level == Level::kHigh;
  for (const std::int64_t n : simulated.edges) {  // a tick is a sample
    high = !high;
    expected.push_back(
        {clockassay::Ticks(n), high ? Level::kHigh : Level::kLow});
  }
  CHECK(channel.runs[0].edges == expected);
  CHECK(channel.runs[0].known_to == simulated.last_sample);
}
