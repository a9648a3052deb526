// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/csv_channels.h"

#include <doctest/doctest.h>

#include <cmath>
#include <cstdint>
#include <cstdio>
#include <numbers>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "support/read_text.h"
#include "support/run_edges.h"

namespace {

using clockassay::AnalogueOptions;
using clockassay::Capture;
using clockassay::ErrorCode;
using clockassay::Level;
using clockassay::LevelEvent;
using clockassay::Rational;
using clockassay::ReadOptions;
using clockassay::SampleIntervalSource;
using clockassay::Ticks;
using clockassay::WarningCode;
using clockassay::test::described;
using clockassay::test::file_text;
using clockassay::test::plain_channel;
using clockassay::test::read_text;

std::string path_of(const std::string& name) {
  return std::string(CLOCKASSAY_SOURCE_DIR) + "/testdata/capture/csv/" + name +
         ".csv";
}

// What stands in the file of options beside each.
ReadOptions channels(std::vector<std::string> names,
                     std::optional<int> radix = {}) {
  ReadOptions options;
  options.channels = std::move(names);
  options.csv.radix = radix;
  return options;
}

ReadOptions levels(const char* low, const char* high) {
  ReadOptions options;
  options.csv.levels = {{low, high}};
  return options;
}

ReadOptions threshold(std::int64_t volts) {
  ReadOptions options;
  options.analogue = AnalogueOptions{Rational(volts), Rational(0)};
  return options;
}

ReadOptions automatic() {
  ReadOptions options;
  options.analogue = AnalogueOptions{};
  return options;
}

// "clk [0 4] r1 f2; en [1 4]": per channel and run from where to where it is
// known, and its edges, in ticks.
std::string edges_text(const Capture& capture) {
  std::string text;
  for (const auto& record : capture.channels) {
    text += (text.empty() ? "" : "; ") + record.name;
    for (const auto& run : plain_channel(record).runs) {
      text += " [" + std::to_string(run.known_from) + " " +
              std::to_string(run.known_to) + "]";
      for (const LevelEvent& e : run.edges) {
        text += (e.level == Level::kHigh ? " r" : " f") +
                std::to_string(e.time.count());
      }
    }
  }
  return text;
}

// Why the first column is read as it is.
std::string reason_of_column(const Capture& capture) {
  for (const auto& fact : capture.understanding.facts) {
    if (fact.topic.starts_with("column \"")) return fact.because;
  }
  return "";
}

bool warns_of(const Capture& capture, WarningCode code) {
  for (const auto& warning : capture.warnings) {
    if (warning.code == code) return true;
  }
  return false;
}

struct Valid {
  const char* file;
  const char* edges;
  ReadOptions options = {};
};

const Valid kValid[] = {
    // An empty cell changes nothing; x at 3 ends what is known of en.
    {"level_words", "clk [0 4] r1 f2 r3 f4; en [0 3] r2 [4 4]"},
    {"level_decimals", "clk [0 4] r1 f2 r3 f4"},
    {"level_pair", "clk [0 3] r1 f2 r3; other [0 3] r1 f3", levels("-1", "1")},
    {"level_pair_words", "door [0 3] r1 f3", levels("closed", "open")},
    // Ticks of 100 ps: the text's 1 us by 1000, and its decimal place. Up from
    // 0 to 4 between 1 and 2 us: at 1 after a quarter. Down from 4 to 0: at 1
    // after 3/4. Up at 5 us itself.
    {"analogue_threshold", "v [0 7000] r1250 f3750 r5000", threshold(1)},
    // Medians -0.3 and 0.3: threshold 0, band 0.06. Up from -0.1 to 0.3 at a
    // quarter, down from 0.3 to -0.3 at a half.
    {"analogue_auto_decimal_comma", "v [0 50000] r12500 f35000", automatic()},
    // No sample where the cell is empty: 0 to 4 over 2 us, 4 to 0 over 1 us, 0
    // to 4 over 3 us, each at the half.
    {"analogue_empty_cells",
     "v [0 6000] r1000 f2500 r4500; clk [0 6000] r1000 f2000 r3000 f4000 "
     "r5000 f6000",
     threshold(2)},
    // Samples at 6, 7 and 8 us are missing: nothing is known from 6 on, and the
    // fall to 9 us is no edge.
    {"analogue_gap",
     "v [0 6000] r500 f1500 r2500 [9000 18000] r9500 f10500 r13500",
     threshold(2)},
    // Bit 3 of 00 08 F7 0a X8, then of a digit that is unknown.
    {"word_hex_prefix", "data[3] [0 5] r1 f2 r3", channels({"data[3]"})},
    {"word_binary", "data[0] [0 3] r1 f2 r3; data[7] [0 3] r2 f3",
     channels({"data[0]", "data[7]"}, 2)},
    // 2, f, 2, f: bit 0 is 0 1 0 1.
    {"word_hex", "data[0] [0 3] r1 f2 r3", channels({"data[0]"}, 16)},
    // 10 = 0b1010, 138 = 0b10001010, 7: the highest bit is 0 1 0.
    {"word_decimal_range", "d[15] [0 2] r1 f2; clk [0 2] r1 f2",
     channels({"d[15]", "clk"}, 10)},
    {"events_long_form", "clk [0 30] r10 f20 r30; en [0 30] r15"},
    {"events_one_channel", "clk [0 2] r1 f2", channels({"clk"})},
};

struct Invalid {
  const char* file;
  std::int64_t line;
  const char* at;  // the error is where this stands in the line
  const char* message;
  const char* hint;
  ReadOptions options = {};
};

#define EXPECTED_LEVEL                                                        \
  ", expected a level: 0, 1, low, high, L, H, off, on, false, true, x, z or " \
  "nothing"

const Invalid kInvalid[] = {
    {"level_words_unknown", 2, "open",
     "found \"open\" in the column \"state\"" EXPECTED_LEVEL,
     "the column knows two values, \"open\" and \"closed\": say which is low "
     "and which is high with --levels LOW,HIGH; or name other columns with "
     "--channel"},
    {"level_five_volts", 3, "5",
     "found \"5\" in the column \"clk\"" EXPECTED_LEVEL,
     "the column knows two values, \"0\" and \"5\": say which is low and which "
     "is high with --levels 0,5; if it holds voltages, here 0 to 5, say where "
     "it turns with --threshold 2.5; or name other columns with --channel"},
    {"level_minus_one", 3, "-1",
     "found \"-1\" in the column \"clk\"" EXPECTED_LEVEL,
     "the column knows two values, \"1\" and \"-1\": say which is low and "
     "which is high with --levels -1,1; if it holds voltages, here -1 to 1, "
     "say where it turns with --threshold 0; or name other columns with "
     "--channel"},
    // Medians 0.01 and 3.28, the lower of two each.
    {"analogue_without_threshold", 2, "0.02",
     "found \"0.02\" in the column \"v\"" EXPECTED_LEVEL,
     "if it holds voltages, here 0.01 to 3.31, say where it turns with "
     "--threshold 1.645; or name other columns with --channel"},
    {"analogue_nan", 4, "NaN",
     "found \"NaN\" in the column \"v\", expected a decimal number or nothing",
     "leave the cell empty where there is no sample, or delete the row",
     automatic()},
    {"word_without_radix", 2, "01010010",
     "found \"01010010\" in the column \"data\"" EXPECTED_LEVEL,
     "if it holds words, say their base with --radix 2, 10 or 16 and a bit "
     "with --channel data[0]; or name other columns with --channel"},
    {"word_too_wide", 4, "0x1",
     "found \"0x10000000000000000\" in the column \"data\", expected a word of "
     "at most 64 bits in base 16",
     "say another base with --radix, or name other columns with --channel",
     channels({"data[0]"})},
    {"events_without_name", 3, ",1", "found no name of a channel in the row",
     "complete the row or delete it"},
    {"events_or_two_channels", 2, "0,1",
     "found \"0\" in the column \"signal\", which may be the name of a channel "
     "or a level",
     "state --rows events if every row names its channel, or --rows changes or "
     "samples if the column is a channel"},
    {"events_level_unknown", 3, "5",
     "found \"5\" in the column \"clk\"" EXPECTED_LEVEL,
     "if it holds words, say their base with --radix 10 or 16 and a bit "
     "with --channel clk[0]; if it holds voltages, here 0 to 7, say where it "
     "turns with --threshold 2.5; or name other columns with --channel"},
};

// Comments long enough that what follows is not among the first rows.
std::string beyond_the_first_rows() {
  std::string filler;
  while (filler.size() < (std::size_t{64} << 10)) filler += "# filler\n";
  return filler;
}

}  // namespace

TEST_CASE("csv values: every valid file gives the edges it was written for") {
  for (const Valid& valid : kValid) {
    const std::string name = "valid/" + std::string(valid.file);
    CAPTURE(name);
    const auto capture = read_text(file_text(path_of(name)), valid.options);
    REQUIRE_MESSAGE(capture.has_value(), capture.error().message);
    CHECK(edges_text(*capture) == valid.edges);
  }
}

TEST_CASE("csv values: every invalid file is refused with its place") {
  for (const Invalid& invalid : kInvalid) {
    const std::string name = "invalid/" + std::string(invalid.file);
    CAPTURE(name);
    const std::string text = file_text(path_of(name));
    const auto capture = read_text(text, invalid.options);
    REQUIRE_FALSE(capture.has_value());
    CHECK(capture.error().code == ErrorCode::kBadData);
    CHECK(capture.error().message == invalid.message);
    CHECK(capture.error().hint == invalid.hint);
    CHECK(capture.error().line == invalid.line);
    std::size_t from = 0;
    for (std::int64_t i = 1; i < invalid.line; ++i) {
      from = text.find('\n', from) + 1;
    }
    // An empty cell stands where the separator behind it does.
    const std::size_t at = text.find(invalid.at, text.find(',', from) + 1);
    CHECK(capture.error().byte == static_cast<std::int64_t>(at));
  }
}

TEST_CASE("csv values: cutting at every byte changes nothing") {
  std::vector<std::pair<std::string, ReadOptions>> files;
  for (const Valid& v : kValid) {
    files.emplace_back("valid/" + std::string(v.file), v.options);
  }
  for (const Invalid& v : kInvalid) {
    files.emplace_back("invalid/" + std::string(v.file), v.options);
  }
  for (const auto& [name, options] : files) {
    const auto& which = name;
    CAPTURE(which);
    const std::string text = file_text(path_of(name));
    const std::string whole = described(read_text(text, options));
    for (std::size_t piece = 1; piece <= text.size(); ++piece) {
      CAPTURE(piece);
      REQUIRE(described(read_text(text, options,
                                  {piece, 1 + piece % 3, 1 + piece % 7})) ==
              whole);
    }
  }
}

TEST_CASE("csv values: stamps of the capture are those of its rows") {
  const auto capture =
      read_text(file_text(path_of("valid/analogue_threshold")), threshold(1));
  REQUIRE(capture.has_value());
  CHECK(capture->first_stamp == Ticks(0));
  CHECK(capture->last_stamp == Ticks(7000));
  CHECK(capture->origin == "0");
  // Written in microseconds, held in nanoseconds.
  CHECK(capture->grid.tick_s == *Rational::make(1, 1'000'000'000));
  CHECK(capture->grid.text_resolution_ticks == 1000);
  CHECK(capture->grid.source == SampleIntervalSource::kRows);
  CHECK(capture->grid.sample_interval_s == *Rational::make(1, 1'000'000));
  REQUIRE(capture->channels.size() == 1);
  CHECK(capture->channels[0].interpolated);
  CHECK(capture->channels[0].longest_step == Ticks(1000));
  // 1 V is low in the swing of the file.
  REQUIRE(capture->warnings.size() == 1);
  CHECK(capture->warnings[0].code == WarningCode::kThresholdOffCentre);
}

TEST_CASE(
    "csv values: the longest step is that between samples of the column") {
  const auto capture =
      read_text(file_text(path_of("valid/analogue_empty_cells")), threshold(2));
  REQUIRE(capture.has_value());
  CHECK(capture->channels[0].longest_step == Ticks(3000));
  CHECK_FALSE(capture->channels[1].interpolated);
  CHECK(capture->channels[1].longest_step == Ticks(0));
}

TEST_CASE("csv values: a threshold beyond all values of the file is said") {
  ReadOptions options;
  options.analogue = AnalogueOptions{Rational(5), Rational(0)};
  const std::string text = "time_us,v\n0,0.0\n1,3.3\n2,0.0\n" +
                           beyond_the_first_rows() + "3,3.3\n4,-1.25\n5,4.5\n";
  for (const std::size_t piece : {1u, 7u, 65'540u, 1u << 22}) {
    const auto capture = read_text(text, options, {piece, 2, 5000});
    REQUIRE(capture.has_value());
    REQUIRE(capture->warnings.size() == 1);
    CHECK(capture->warnings[0].code == WarningCode::kThresholdNotCrossed);
    CHECK(capture->warnings[0].message ==
          "the column \"v\" lies between -1.25 and 4.5 and never turns at 5 "
          "with a hysteresis of 0; if it holds a clock, state another "
          "threshold");
    CHECK(edges_text(*capture) == "v [0 5000]");
  }
}

TEST_CASE("csv values: a last row that may be cut off is left out") {
  ReadOptions options;
  options.analogue = AnalogueOptions{Rational(1), Rational(0)};
  const std::string rows = "time_us,v\n0,0.00\n1,3.30\n2,0.00\n";
  for (const char* rest : {"3,3.3", "3,", "3", "3,3.", "3,-"}) {
    CAPTURE(std::string(rest));
    const auto capture = read_text(rows + rest, options);
    REQUIRE(capture.has_value());
    CHECK(warns_of(*capture, WarningCode::kTruncatedEnd));
    CHECK(capture->last_stamp == Ticks(2000));
  }
  const auto whole = read_text(rows + "3,3.30", options);
  REQUIRE(whole.has_value());
  CHECK_FALSE(warns_of(*whole, WarningCode::kTruncatedEnd));
  CHECK(whole->last_stamp == Ticks(3000));
}

TEST_CASE(
    "csv values: a threshold in volts is converted to the unit of the column") {
  // 0, 3300 and 0 again, in ticks of a nanosecond: 1.65 V is passed half-way up
  // and down. Taken for 1.65 mV it would be passed at once and at last.
  const std::string rows = "0,0\n1,3300\n2,0\n3,0\n";
  ReadOptions options;
  options.analogue = AnalogueOptions{*Rational::make(33, 20), Rational(0)};
  options.analogue->threshold_in_volts = true;
  for (const std::string header :
       {"time_us,clk (mV)\n", "time_us,clk_mV\n", "time_us,clk [mV]\n",
        "time_us,clk/mV\n", "time,clk\n(us),(mV)\n", "time,clk\nus,mV\n"}) {
    CAPTURE(header);
    const auto capture = read_text(header + rows, options);
    REQUIRE(capture.has_value());
    const std::string edges = edges_text(*capture);
    CHECK(edges.substr(edges.rfind('[')) == "[0 3000] r500 f1500");
    CHECK(reason_of_column(*capture) ==
          "--threshold, from volts to the column's 1e-3 V");
  }
  // A number without a unit is in that of the column: 1.65 mV is half a
  // nanosecond after 0 and before 2 us, the later tick of two as near.
  options.analogue->threshold_in_volts = false;
  const auto plain = read_text("time_us,clk (mV)\n" + rows, options);
  REQUIRE(plain.has_value());
  CHECK(edges_text(*plain) == "clk (mV) [0 3000] r1 f2000");
  // So is one in volts where the column says nothing.
  options.analogue->threshold_in_volts = true;
  const auto unsaid = read_text("time_us,clk\n" + rows, options);
  REQUIRE(unsaid.has_value());
  CHECK(edges_text(*unsaid) == "clk [0 3000] r1 f2000");
  CHECK(reason_of_column(*unsaid) ==
        "--threshold, taken for volts: the column states no unit");
  // Half of 330 mV up and down: high from 1815 on, low to 1485.
  options.analogue->hysteresis = *Rational::make(33, 100);
  options.analogue->hysteresis_in_volts = true;
  const auto band =
      read_text("time_us,clk (mV)\n" + rows + "4,1815\n", options);
  REQUIRE(band.has_value());
  CHECK(edges_text(*band) == "clk (mV) [0 4000] r500 f1500 r3909");
  const auto below =
      read_text("time_us,clk (mV)\n" + rows + "4,1814\n", options);
  REQUIRE(below.has_value());
  CHECK(edges_text(*below) == "clk (mV) [0 4000] r500 f1500");
}

TEST_CASE("csv values: only levels and words decide whether a row changes") {
  // Samples of 1 us: a clock of 10 us beside a noisy voltage nobody asks for.
  std::string rows;
  for (int i = 0; i < 40; ++i) {
    rows += std::to_string(i) + "," + (i % 10 < 5 ? "0" : "1") + ",0." +
            std::to_string(1009 + 37 * (i % 7)) + "," +
            std::to_string(500 + i % 3) + ",note " + std::to_string(i) + "\n";
  }
  const std::string text = "time_us,clk,v,adc,n\n" + rows;
  for (const auto& names :
       {std::vector<std::string>{}, std::vector<std::string>{"clk"}}) {
    const auto capture = read_text(text, channels(names));
    REQUIRE(capture.has_value());
    CHECK(capture->grid.source == SampleIntervalSource::kRows);
    CHECK(capture->grid.sample_interval_s == *Rational::make(1, 1'000'000));
  }
  // Changes of two channels in turn, at a constant step: not one row is idle,
  // whichever of them is asked for, and none is a sample.
  for (const std::string prefix : {"", "0x"}) {
    CAPTURE(prefix);
    std::string changes = "time_us,clk,other\n";
    for (int i = 0; i < 40; ++i) {
      changes += std::to_string(5 * i) + "," + std::to_string(i / 2 % 2) + "," +
                 prefix + std::to_string((i + 1) / 2 % 2) + "\n";
    }
    const auto capture = read_text(changes, channels({"clk"}));
    REQUIRE(capture.has_value());
    CHECK_FALSE(capture->grid.sample_interval_s.has_value());
  }
  // A row for every change of a clock, and some that change only a voltage:
  // their step is no finer than the sampler's, whatever they are.
  const auto uneven = read_text(
      "time_us,clk,v\n0,0,0.1\n5,1,0.2\n7,1,0.3\n10,0,0.3\n15,1,0.4\n",
      channels({"clk"}));
  REQUIRE(uneven.has_value());
  CHECK_FALSE(uneven->grid.sample_interval_s.has_value());
  const auto even = read_text(
      "time_us,clk,v\n0,0,0.1\n5,1,0.2\n10,1,0.3\n15,0,0.3\n20,1,0.4\n",
      channels({"clk"}));
  REQUIRE(even.has_value());
  CHECK(even->grid.sample_interval_s == *Rational::make(5, 1'000'000));
}

TEST_CASE("csv values: a channel that comes late must be named") {
  const std::string text = "time_s,channel,value\n0,clk,0\n1,clk,1\n" +
                           beyond_the_first_rows() + "2,led,0\n3,led,1\n";
  const auto refused = read_text(text);
  REQUIRE_FALSE(refused.has_value());
  CHECK(refused.error().message ==
        "found the channel \"led\", expected one of those in the first rows");
  CHECK(refused.error().hint == "name the channels to be read with --channel");
  CHECK(refused.error().byte == static_cast<std::int64_t>(text.find("led")));
  ReadOptions options;
  options.channels = {"led"};
  const auto late = read_text(text, options);
  REQUIRE(late.has_value());
  CHECK(edges_text(*late) == "led [2 3] r3");
  options.channels = {"clk"};
  const auto other = read_text(text, options);
  REQUIRE(other.has_value());
  CHECK(edges_text(*other) == "clk [0 3] r1");
  // Where the first rows are all there are, a name that is not there is wrong.
  options.channels = {"mco"};
  const auto missing =
      read_text("time_s,channel,value\n0,clk,0\n1,clk,1\n2,clk,0\n", options);
  REQUIRE_FALSE(missing.has_value());
  CHECK(missing.error().message ==
        "found no channel \"mco\", there are \"clk\"");
}

TEST_CASE("csv values: a sampled sine crosses where the closed form says") {
  // v(t) = sin(w (t - t0)), f = 9973.21 Hz, 16 samples of 6.25 us a period or
  // so, written with nine decimals. The line between two samples is off the
  // sine by at most h^2/8 max|v''|, which within a step of the zero crossing is
  // w^2 sin(w h); the sine climbs there by at least w cos(w h). So the time is
  // off by at most (h/8) w h tan(w h), half a unit of the text over w cos(w h),
  // and half a tick of 10 ps.
  const double f = 9973.21;
  const double h = 6.25e-6;
  const double t0 = 12.3e-6;
  const double w = 2.0 * std::numbers::pi * f;
  const double bound = h / 8.0 * (w * h) * std::tan(w * h) +
                       0.5e-9 / (w * std::cos(w * h)) + 5e-12;
  std::string text = "time_us,v\n";
  for (int i = 0; i < 4000; ++i) {
    char row[64];
    std::snprintf(row, sizeof row, "%.2f,%.9f\n", 6.25 * i,
                  std::sin(w * (h * i - t0)));
    text += row;
  }
  ReadOptions options;
  options.analogue = AnalogueOptions{Rational(0), *Rational::make(1, 10)};
  const auto capture = read_text(text, options);
  REQUIRE(capture.has_value());
  CHECK(capture->grid.tick_s == *Rational::make(1, 100'000'000'000));
  const auto runs = plain_channel(capture->channels[0]).runs;
  REQUIRE(runs.size() == 1);
  REQUIRE(runs[0].edges.size() > 490);
  double worst = 0.0;
  for (std::size_t i = 0; i < runs[0].edges.size(); ++i) {
    const double expected = t0 + 0.5 / f * static_cast<double>(i);
    const double found =
        static_cast<double>(runs[0].edges[i].time.count()) * 1e-11;
    worst = std::max(worst, std::abs(found - expected));
    CHECK((runs[0].edges[i].level == Level::kHigh) == (i % 2 == 0));
  }
  CHECK(worst <= bound);
  CHECK(bound < h / 10.0);
}

TEST_CASE("csv long form: a channel asked for that never comes is missing") {
  std::string text = "time_s,channel,value\n";
  for (int i = 0; i < 9000; ++i) {
    text += std::to_string(i) + ",top.a," + std::to_string(i % 2) + "\n";
  }
  text += "9000,top.clk,0\n9001,top.clk,1\n9002,data,0x08\n";
  ReadOptions options;
  for (const char* name : {"typo", "clk", "data[3]"}) {
    options.channels = {"top.a", name};
    const auto refused = read_text(text, options);
    REQUIRE_FALSE(refused.has_value());
    CHECK(refused.error().message ==
          "found no level of the channel \"" + std::string(name) +
              "\" in any row, expected one as asked for");
  }
  options.skip_missing_channels = true;
  const auto skipped = read_text(text, options);
  REQUIRE(skipped.has_value());
  CHECK(skipped->missing_channels == std::vector<std::string>{"data[3]"});
  CHECK(skipped->channel_names == std::vector<std::string>{"top.a"});
  REQUIRE(skipped->channels.size() == 1);
  CHECK(skipped->channels[0].name == "top.a");
  options.channels = {"top.clk"};
  const auto late = read_text(text, options);
  REQUIRE(late.has_value());
  CHECK(late->channels[0].runs.size() == 1);
}

TEST_CASE("csv long form: a late channel that a name may mean too is refused") {
  const std::string head = "time_s,channel,value\n0,top.clk,0\n1,top.clk,1\n" +
                           beyond_the_first_rows() + "2,led,0\n3,";
  for (const std::string late : {"clk", "b.clk"}) {
    CAPTURE(late);
    const std::string text = head + late + ",1\n4,led,1\n5,top.clk,0\n";
    for (const std::size_t piece : {1u, 7u, 65'540u, 1u << 22}) {
      const auto refused =
          read_text(text, channels({"led", "clk"}), {piece, 2, 5000});
      REQUIRE_FALSE(refused.has_value());
      CHECK(refused.error().message ==
            "found the channel \"" + late +
                "\", which --channel clk may mean too, expected it among the "
                "first rows");
      CHECK(refused.error().hint ==
            "name the one meant in full, or put a row of each channel near the "
            "top of the file");
      CHECK(refused.error().byte ==
            static_cast<std::int64_t>(text.find("3," + late) + 2));
    }
    const auto whole = read_text(text, channels({"top.clk"}));
    REQUIRE(whole.has_value());
    CHECK(edges_text(*whole) == "top.clk [0 5] r1 f5");
  }
}

TEST_CASE(
    "csv long form: levels in the column of names are not taken for them") {
  const std::string text = "time_s,signal,state\n0,0,1\n1,1,1\n2,0,0\n3,1,1\n";
  const auto refused = read_text(text, {});
  REQUIRE_FALSE(refused.has_value());
  CHECK(refused.error().message ==
        "found \"0\" in the column \"signal\", which may be the name of a "
        "channel or a level");
  CHECK(refused.error().byte == 22);
  CHECK(refused.error().hint ==
        "state --rows events if every row names its channel, or --rows changes "
        "or samples if the column is a channel");
  ReadOptions options;
  options.csv.rows = clockassay::CsvRows::kEvents;
  CHECK(read_text(text, options)->channels.size() == 2);
  options.csv.rows = clockassay::CsvRows::kChanges;
  CHECK(read_text(text, options)->channels[0].name == "signal");
}

TEST_CASE("csv values: beyond the range of the instrument is full scale") {
  for (const char* cell : {"inf", "-Inf", "+infinity"}) {
    CAPTURE(std::string(cell));
    const auto refused = read_text(
        "time_s,v\n0,0.1\n1,3.1\n2," + std::string(cell) + "\n3,0.1\n",
        automatic());
    REQUIRE_FALSE(refused.has_value());
    CHECK(refused.error().line == 4);
    CHECK(refused.error().hint ==
          "where the range of the instrument was exceeded, write the full "
          "scale value in its place");
  }
}

TEST_CASE("csv long form: edges by name are read as the refusal says") {
  ReadOptions options;
  for (const auto& [header, rows] :
       {std::pair("time_s,channel,edge",
                  "0,clk,falling\n1,aux,falling\n2,clk,rising\n3,aux,rising\n"),
        std::pair("channel,time_s,edge",
                  "clk,0,falling\naux,1,falling\nclk,2,rising\naux,3,rising\n"),
        std::pair(
            "time_s,edge,channel",
            "0,falling,clk\n1,falling,aux\n2,rising,clk\n3,rising,aux\n")}) {
    const std::string which(header);
    CAPTURE(which);
    const std::string text = std::string(header) + "\n" + rows;
    const auto refused = read_text(text, {});
    REQUIRE_FALSE(refused.has_value());
    CHECK(refused.error().message ==
          "found \"clk\" in the column \"channel\", which seems to name the "
          "channel of each row");
    CHECK(refused.error().hint ==
          "if it does, state --rows events --levels falling,rising; or name "
          "other columns with --channel");
    CHECK(refused.error().byte == static_cast<std::int64_t>(text.find("clk")));
    options.csv.rows = clockassay::CsvRows::kEvents;
    options.csv.levels = {"falling", "rising"};
    const auto read = read_text(text, options);
    REQUIRE(read.has_value());
    CHECK(read->channel_names == std::vector<std::string>{"clk", "aux"});
  }
  const auto rise =
      read_text("time_s,channel,edge\n0,clk,Rise\n1,clk,Fall\n", {});
  REQUIRE_FALSE(rise.has_value());
  CHECK(rise.error().hint ==
        "if it does, state --rows events --levels Fall,Rise; or name other "
        "columns with --channel");
  // Another column that is asked for is no such thing.
  CHECK(read_text("time_s,channel,clk\n0,a,0\n1,b,1\n", channels({"clk"})));
}
