// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/csv_importer.h"

#include <doctest/doctest.h>
#include <cstdio>

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "capture/power_of_ten.h"
#include "clockassay/capture/capture_writer.h"
#include "support/read_text.h"
#include "support/run_edges.h"

namespace {

using clockassay::Capture;
using clockassay::CsvOptions;
using clockassay::CsvRows;
using clockassay::CsvTimeUnit;
using clockassay::Error;
using clockassay::ErrorCode;
using clockassay::Level;
using clockassay::LevelEvent;
using clockassay::LoneEdges;
using clockassay::power_of_ten;
using clockassay::Rational;
using clockassay::ReadOptions;
using clockassay::SampleIntervalSource;
using clockassay::Ticks;
using clockassay::WarningCode;
using clockassay::test::described;
using clockassay::test::plain_channel;
using clockassay::test::read_text;

std::string testdata(const std::string& name) {
  return clockassay::test::file_text(std::string(CLOCKASSAY_SOURCE_DIR) +
                                     "/testdata/capture/csv/" + name + ".csv");
}

Capture must_read(std::string_view text, const ReadOptions& options = {}) {
  auto capture = read_text(text, options);
  REQUIRE_MESSAGE(capture.has_value(), capture.error().message);
  return *std::move(capture);
}

std::vector<LevelEvent> edges_of(const Capture& capture, std::size_t channel) {
  std::vector<LevelEvent> edges;
  for (const auto& run : plain_channel(capture.channels[channel]).runs) {
    edges.insert(edges.end(), run.edges.begin(), run.edges.end());
  }
  return edges;
}

bool warns_of(const Capture& capture, WarningCode code) {
  for (const auto& warning : capture.warnings) {
    if (warning.code == code) return true;
  }
  return false;
}

struct Valid {
  const char* file;
  int exponent;        // of the tick
  const char* origin;  // first stamp [s]
  std::int64_t first;  // first stamp [ticks]
  std::int64_t unit;   // ticks from one edge to the next
  std::vector<std::string> names;
  ReadOptions options = {};
};

ReadOptions stated(const char* time_column,
                   std::optional<CsvTimeUnit> unit = {}) {
  ReadOptions options;
  options.csv.time_column = time_column;
  options.csv.time_unit = unit;
  return options;
}

ReadOptions per_second(const char* time_column, std::int64_t samples) {
  ReadOptions options = stated(time_column);
  options.sample_rate_hz = Rational(samples);
  return options;
}

ReadOptions with_steps() {
  ReadOptions options;
  options.csv.time_is_step = true;
  options.sample_rate_hz = Rational(2'000'000);
  return options;
}

ReadOptions with_mark(char mark) {
  ReadOptions options;
  options.csv.decimal_mark = mark;
  return options;
}

constexpr CsvTimeUnit kMicroseconds{false, -6};

// All of them say: rises one, three and five units after the first stamp,
// falls after two and four. Channel 0, or the last one, is that clock.
const Valid kValid[] = {
    {"changes", -1, "0", 0, 1, {"clk"}},
    {"changes_crlf_bom_quotes", -3, "0", 0, 1, {"CLK \"A\""}},
    {"semicolon_decimal_comma", -7, "0", 0, 1, {"clk"}},
    {"tab_decimal_comma", -10, "0", 0, 1, {"clk"}},
    // written to 1e-13 s, of which picoseconds are enough
    {"exponent_and_sign", -12, "0", 0, 100'000, {"clk"}},
    {"negative_times", -7, "-0.0000025", -25, 10, {"clk"}},
    {"epoch_seconds", -9, "1700000000", 1'700'000'000'000'000'000, 1, {"clk"}},
    {"samples", -4, "0", 0, 10, {"clk"}},
    {"two_channels_empty_is_unchanged", 0, "0", 0, 1, {"clk", "en"}},
    {"comments_and_blank_lines", 0, "0", 0, 1, {"clk"}},
    {"no_newline_at_end", 0, "0", 0, 1, {"clk"}},
    // From here on rows are 0.5, 1.5 … 5.5 us.
    {"bar_separator", -7, "0.0000005", 5, 10, {"clk"}},
    {"blank_separator", -7, "0.0000005", 5, 10, {"clk"}},
    {"blank_after_comma", -7, "0.0000005", 5, 10, {"clk"}},
    {"separator_line", -7, "0.0000005", 5, 10, {"clk"}},
    {"quoted_everything", -7, "0.0000005", 5, 10, {"clk"}},
    {"quoted_decimal_comma", -7, "0.0000005", 5, 10, {"clk"}},
    {"quoted_separator_and_blanks", -7, "0.0000005", 5, 10, {"a, b", "note"}},
    {"latin1_micro", -7, "0.0000005", 5, 10, {"clk"}},
    {"greek_mu", -7, "0.0000005", 5, 10, {"clk"}},
    {"carriage_returns", -7, "0.0000005", 5, 10, {"clk"}},
    {"unit_row", -7, "0.0000005", 5, 10, {"clk"}},
    {"unnamed_column", -7, "0.0000005", 5, 10, {"column 2", "en"}},
    {"trailing_separator_in_rows", -7, "0.0000005", 5, 10, {"clk"}},
    {"trailing_separator_in_header", -7, "0.0000005", 5, 10, {"clk"}},
    {"key_value_preamble", -7, "0.0000005", 5, 10, {"clk"}},
    {"sample_interval_in_comment", -7, "0.0000005", 5, 10, {"clk"}},
    {"comments_at_the_end", -7, "0.0000005", 5, 10, {"clk"}},
    {"unit_in_cells", -7, "0.0000005", 5, 10, {"clk"}},
    {"time_not_first", -7, "0.0000005", 5, 10, {"clk"}},
    {"index_column_first", -7, "0.0000005", 5, 10, {"clk"}},
    {"leading_zeros_and_signs", -7, "0.0000005", 5, 10, {"clk"}},
    {"lower_case_exponent", -7, "0.0000005", 5, 10, {"clk"}},
    {"no_header",
     -7,
     "0.0000005",
     5,
     10,
     {"column 2"},
     stated("1", kMicroseconds)},
    {"no_unit", -7, "0.0000005", 5, 10, {"clk"}, stated("", kMicroseconds)},
    {"steps", -7, "0.0000005", 5, 10, {"clk"}, with_steps()},
    {"times_per_channel", -7, "0.0000005", 5, 10, {"clk"}, stated("t")},
    // 1,500 … 6,500 us
    {"grouping_or_decimal_comma",
     -9,
     "0.0000015",
     1500,
     1000,
     {"clk"},
     with_mark(',')},
    // in us, ms and ns
    {"units_in_cells_mixed", -9, "0", 0, 250'000, {"clk"}},
    {"epoch_nanoseconds",
     -9,
     "1700000000.12345678",
     1'700'000'000'123'456'780,
     1,
     {"clk"}},
    // a row is 1 s
    {"no_time_column", 0, "0", 0, 1, {"clk", "en"}, per_second("none", 1)},
};

struct Invalid {
  const char* file;
  std::int64_t line;
  const char* at;  // the error is where this stands first, after line - 1 LFs
  const char* message;
  const char* hint;
};

const Invalid kInvalid[] = {
#include "unit/capture/csv_refusals.inc"
};

// Position of `at` in `text` at or after the beginning of line `line`.
std::int64_t place_of(const std::string& text, std::int64_t line,
                      const std::string& at) {
  std::size_t from = 0;
  for (; line > 1; --line) from = text.find('\n', from) + 1;
  return static_cast<std::int64_t>(text.find(at, from));
}

// A comment long enough that what follows it is not among the first rows.
std::string beyond_the_first_rows() {
  std::string filler;
  while (filler.size() < (std::size_t{64} << 10)) filler += "# filler\n";
  return filler;
}

}  // namespace

TEST_CASE("csv: every valid file gives the edges it was written for") {
  for (const Valid& valid : kValid) {
    CAPTURE(std::string(valid.file));
    const std::string text = testdata("valid/" + std::string(valid.file));
    const Capture capture = must_read(text, valid.options);
    CHECK(capture.format == "csv");
    CHECK(capture.bytes == static_cast<std::int64_t>(text.size()));
    CHECK(capture.grid.tick_s == power_of_ten(valid.exponent));
    CHECK(capture.origin == valid.origin);
    CHECK(capture.channel_names == valid.names);
    CHECK(capture.first_stamp == Ticks(valid.first));
    std::vector<LevelEvent> expected;
    for (std::int64_t i = 1; i <= 5; ++i) {
      expected.push_back({Ticks(valid.first + i * valid.unit),
                          i % 2 == 1 ? Level::kHigh : Level::kLow});
    }
    CHECK(edges_of(capture, 0) == expected);
    CHECK(capture.warnings.empty());
    CHECK_FALSE(capture.channels[0].rising_only);
  }
}

TEST_CASE("csv: every invalid file is refused with its place and the way out") {
  for (const Invalid& invalid : kInvalid) {
    CAPTURE(std::string(invalid.file));
    const std::string text = testdata("invalid/" + std::string(invalid.file));
    REQUIRE_FALSE(text.empty());
    const auto capture = read_text(text);
    REQUIRE_FALSE(capture.has_value());
    const Error& error = capture.error();
    CHECK(error.code == ErrorCode::kBadData);
    CHECK(error.message == invalid.message);
    CHECK(error.hint == invalid.hint);
    CHECK(error.line == invalid.line);
    const std::int64_t place = place_of(text, invalid.line, invalid.at);
    REQUIRE(place >= 0);
    CHECK(error.byte == place);
  }
}

TEST_CASE("csv: cutting at every byte changes nothing") {
  std::vector<std::pair<std::string, ReadOptions>> files;
  for (const Valid& valid : kValid) {
    files.emplace_back("valid/" + std::string(valid.file), valid.options);
  }
  for (const char* file :
       {"rising_edges", "samples_uneven", "samples_missing", "epoch_double",
        "every_stamp_twice", "nul_tail", "sample_numbers"}) {
    files.emplace_back("valid/" + std::string(file), ReadOptions());
  }
  ReadOptions edges;
  edges.csv.edges = LoneEdges::kBothRiseFirst;
  files.emplace_back("valid/edges_of_both_kinds", edges);
  for (const Invalid& invalid : kInvalid) {
    files.emplace_back("invalid/" + std::string(invalid.file), ReadOptions());
  }
  for (const auto& [file, options] : files) {
    const auto& which = file;
    CAPTURE(which);
    const std::string text = testdata(file);
    const std::string whole = described(read_text(text, options));
    for (std::size_t piece = 1; piece <= text.size(); ++piece) {
      CAPTURE(piece);
      REQUIRE(described(read_text(text, options,
                                  {piece, 1 + piece % 3, 1 + piece % 7})) ==
              whole);
    }
  }
}

TEST_CASE(
    "csv: an odd step, a step back and close edges show across every cut") {
  const std::string samples = "time_us,clk\n0,0\n2,0\n4,1\n6,1\n8,0\n" +
                              beyond_the_first_rows() + "10,0\n13,1\n15,1\n";
  const std::string back =
      "time_us,clk\n0,0\n1,1\n" + beyond_the_first_rows() + "4,0\n3,1\n";
  const std::string close =
      "rising_us\n0\n2\n" + beyond_the_first_rows() + "5\n6\n";
  struct Case {
    const std::string& text;
    const char* at;
    const char* message;
    const char* hint;
  };
  for (const Case& c :
       {Case{samples, "13,1\n",
             "found a step of 0.000003 s from 0.00001 s to 0.000013 s, "
             "expected 0.000002 s as between the first rows, which are "
             "samples, or a multiple of it",
             "state --rows changes if a row is written only when something "
             "changes"},
        Case{back, "3,1\n",
             "found the time 0.000003 s after 0.000004 s, expected times that "
             "do not decrease",
             "export the rows in the order of time; a counter that wraps is "
             "not read; state --time-steps if every time counts from the row "
             "before"},
        Case{close, "6\n",
             "found rising edges from 0.000005 s to 0.000006 s, expected at "
             "least 0.000002 s between two",
             "write the times with more decimals, or state a finer --tick"}}) {
    for (const std::size_t piece : {1u, 2u, 3u, 5u, 65'600u, 1u << 20}) {
      CAPTURE(piece);
      const auto read = read_text(c.text, {}, {piece, 2, 4096});
      REQUIRE_FALSE(read.has_value());
      CHECK(read.error().message == c.message);
      CHECK(read.error().hint == c.hint);
      CHECK(read.error().byte == static_cast<std::int64_t>(c.text.rfind(c.at)));
    }
  }
}

TEST_CASE("csv: a later row finer than the tick is refused, zeros are not") {
  const std::string start =
      "time_s,clk\n0.0,0\n0.1,1\n" + beyond_the_first_rows();
  CHECK(edges_of(must_read(start + "0.200,0\n"), 0).back().time == Ticks(2));
  const auto read = read_text(start + "0.25,0\n");
  REQUIRE_FALSE(read.has_value());
  CHECK(read.error().message ==
        "found the time \"0.25\" with digits below 0.1 s, expected none, as in "
        "the first rows");
  CHECK(read.error().hint ==
        "write all times with the same number of decimals, or state a finer "
        "--tick");
  CHECK(read.error().byte == static_cast<std::int64_t>(start.size()));
}

TEST_CASE("csv: a later row beyond 64 bits is refused") {
  const std::string start =
      "time_s,clk\n0.000000000,0\n0.000000001,1\n" + beyond_the_first_rows();
  const auto read = read_text(start + "5000000000.000000000,0\n");
  REQUIRE_FALSE(read.has_value());
  // 2^62 - 1 ns
  CHECK(read.error().message ==
        "found the time \"5000000000.000000000\", expected at most "
        "4611686018.427387903 s");
  CHECK(read.error().hint ==
        "write the times with fewer decimals or from a later origin, or state "
        "a coarser --tick");
}

TEST_CASE("csv: samples whose interval is no whole number of ticks are seen") {
  // floor(25 n / 3) ns is sample n at 120 MS/s; the level changes every third.
  const Capture capture = must_read(testdata("valid/samples_uneven"));
  CHECK(capture.grid.source == SampleIntervalSource::kRows);
  CHECK(capture.grid.sample_interval_s == Rational::make(1, 120'000'000));
  CHECK(capture.warnings.empty());
  std::vector<LevelEvent> expected;
  for (std::int64_t k = 1; k <= 7; ++k) {
    expected.push_back(
        {Ticks(25 * k), k % 2 == 1 ? Level::kHigh : Level::kLow});
  }
  CHECK(edges_of(capture, 0) == expected);
  // (175 - 16 - 1) / 19, by rows 2 and 21, and (191 - 0 + 1) / 23.
  CHECK(capture.grid.source_reason ==
        "rows are one per sample: the roundest that all steps of the first 24 "
        "rows allow, which is "
        "between 8.315789 ns and 8.347826 ns");
  // Two samples a stamp: n / 2 ns is sample n at 2 GS/s.
  const Capture twice = must_read(testdata("valid/every_stamp_twice"));
  CHECK(twice.grid.sample_interval_s == Rational::make(1, 2'000'000'000));
  CHECK(twice.grid.source == SampleIntervalSource::kRows);
  CHECK(twice.channels[0].zero_width_pulses == 0);
}

TEST_CASE("csv: where samples are missing no level is known") {
  // Rows 0 … 39 us without 17, 18 and 30; the level changes at 4, 8, 12 ….
  const Capture capture = must_read(testdata("valid/samples_missing"));
  CHECK(capture.grid.sample_interval_s == power_of_ten(-6));
  REQUIRE(capture.warnings.size() == 1);
  CHECK(capture.warnings[0].code == WarningCode::kSamplesMissing);
  CHECK(
      capture.warnings[0].message ==
      "3 samples are missing between the rows, in 2 places; no level is known "
      "there, and no period is taken across");
  const auto channel = plain_channel(capture.channels[0]);
  REQUIRE(channel.runs.size() == 3);
  CHECK(channel.runs[0].known_to == 17);
  CHECK(channel.runs[1].known_from == 19);
  CHECK(channel.runs[1].known_to == 30);
  CHECK(channel.runs[2].known_from == 31);
  CHECK(channel.unknown_stretches == 2);
  // The edges at 4 … 36 but for none: they all lie between samples there are.
  std::vector<std::int64_t> times;
  for (const LevelEvent& edge : edges_of(capture, 0)) {
    times.push_back(edge.time.count());
  }
  CHECK(times == std::vector<std::int64_t>{4, 8, 12, 16, 20, 24, 28, 32, 36});
  // The user's word: rows are changes.
  ReadOptions options;
  options.csv.rows = CsvRows::kChanges;
  const Capture changes = must_read(testdata("valid/samples_missing"), options);
  CHECK(changes.warnings.empty());
  CHECK(changes.grid.source == SampleIntervalSource::kUnknown);
  CHECK(plain_channel(changes.channels[0]).runs.size() == 1);
}

TEST_CASE("csv: a step that rounding of the text explains misses no sample") {
  // Rows 1.01 us apart in whole us: every 100th step is one of 2 us.
  std::string text = "time_us,clk\n";
  for (int k = 0; k < 400; ++k) {
    text += std::to_string((101 * k + 50) / 100) + "," +
            std::to_string(k / 7 % 2) + "\n";
  }
  const Capture rounded = must_read(text);
  CHECK(rounded.grid.source == SampleIntervalSource::kRows);
  CHECK(rounded.warnings.empty());
  CHECK(plain_channel(rounded.channels[0]).runs.size() == 1);
  // Three steps of the text are more than rounding makes of one.
  const Capture missing = must_read(text + "406,0\n409,0\n410,0\n");
  REQUIRE(missing.warnings.size() == 1);
  CHECK(missing.warnings[0].code == WarningCode::kSamplesMissing);
}

TEST_CASE("csv: a unit stated against the header is a warning") {
  ReadOptions options;
  options.csv.time_unit = CsvTimeUnit{false, -3};
  const Capture capture = must_read("time_s,clk\n0,0\n1,1\n3,0\n", options);
  REQUIRE(capture.warnings.size() == 1);
  CHECK(capture.warnings[0].code == WarningCode::kOptionAgainstFile);
  CHECK(capture.warnings[0].message ==
        "--time-unit states another unit of time than the header, and is "
        "believed");
}

TEST_CASE("csv: edge times beside other columns are read where it is stated") {
  ReadOptions options;
  const std::string text = "n,time_s\n0,0.5\n1,1.5\n2,2.5\n";
  const auto refused = read_text(text, options);
  REQUIRE_FALSE(refused.has_value());
  CHECK(refused.error().message ==
        "found \"n\" as the only column beside the time, which counts the "
        "rows, expected a channel");
  CHECK(refused.error().hint ==
        "if every row is one edge, state --time-column time_s and --edges "
        "rising, or both-rise-first or both-fall-first");
  CHECK(refused.error().line == 2);
  options.csv.time_column = "time_s";
  options.csv.edges = LoneEdges::kRising;
  const Capture rising = must_read(text, options);
  CHECK(rising.channel_names == std::vector<std::string>{"rising"});
  options.csv.edges = LoneEdges::kBothFallFirst;
  // A tick is 0.1 s.
  CHECK(edges_of(must_read(text, options), 0) ==
        std::vector<LevelEvent>{{Ticks(5), Level::kLow},
                                {Ticks(15), Level::kHigh},
                                {Ticks(25), Level::kLow}});
  // Durations are no channel either.
  const auto periods = read_text("time_s,period_s\n0,0.1\n0.1,0.2\n", {});
  REQUIRE_FALSE(periods.has_value());
  CHECK(periods.error().message ==
        "found \"period_s\" as the only column beside the time, which holds "
        "times by its name, expected a channel");
}

TEST_CASE("csv: without times and numbers, rows are told by their levels") {
  ReadOptions options;
  options.csv.time_column = "none";
  options.sample_rate_hz = Rational(10);
  const std::string text = "clk\nlo\nhi\nlo\n";
  const auto refused = read_text(text, options);
  REQUIRE_FALSE(refused.has_value());
  CHECK(refused.error().message ==
        "found \"clk\" and no row of levels after it, expected rows of levels");
  CHECK(refused.error().hint ==
        "say with --levels LOW,HIGH what they are written as, or state "
        "--separator");
  options.csv.levels = {"lo", "hi"};
  CHECK(edges_of(must_read(text, options), 0).size() == 2);
  options.csv.levels = {};
  CHECK(edges_of(must_read("clk\nLOW\nHIGH\nLOW\n", options), 0).size() == 2);
}

TEST_CASE("csv: rows stated to be samples must be at a constant step") {
  ReadOptions options;
  options.csv.rows = CsvRows::kSamples;
  const std::string toggling = "time_us,clk\n0,0\n1,1\n2,0\n3,1\n4,0\n";
  CHECK(must_read(toggling).grid.source == SampleIntervalSource::kUnknown);
  CHECK(must_read(toggling, options).grid.sample_interval_s ==
        power_of_ten(-6));
  const auto uneven = read_text("time_us,clk\n0,0\n1,1\n5,0\n6.5,1\n", options);
  REQUIRE_FALSE(uneven.has_value());
  CHECK(uneven.error().message ==
        "found rows at no constant step, expected samples as --rows states");
  CHECK(uneven.error().hint ==
        "state --rows changes, or split the file where its step changes");
}

TEST_CASE("csv: sample numbers are exact at any rate") {
  const Capture stated = must_read(testdata("valid/sample_numbers"));
  CHECK(stated.grid.tick_s == Rational::make(1, 8'000'000));
  CHECK(stated.grid.sample_interval_s == stated.grid.tick_s);
  CHECK(stated.origin == "0.0000125");  // 100 / 8 MHz
  ReadOptions options;
  options.sample_rate_hz = Rational(120'000'000);
  const Capture third = must_read("Sample #,clk\n7,0\n8,1\n9,1\n", options);
  CHECK(third.grid.tick_s == Rational::make(1, 120'000'000));
  CHECK(edges_of(third, 0) ==
        std::vector<LevelEvent>{{Ticks(8), Level::kHigh}});
}

TEST_CASE("csv: lone edge times take the kind that is stated") {
  ReadOptions options;
  const std::string text = testdata("valid/edges_of_both_kinds");
  for (const LoneEdges kind :
       {LoneEdges::kBothRiseFirst, LoneEdges::kBothFallFirst}) {
    options.csv.edges = kind;
    const Capture capture = must_read(text, options);
    CHECK_FALSE(capture.channels[0].rising_only);
    CHECK(capture.channels[0].name == "edges");
    std::vector<LevelEvent> expected;
    bool high = kind == LoneEdges::kBothRiseFirst;
    for (std::int64_t i = 1; i <= 5; ++i) {
      expected.push_back(
          {Ticks(10 * i + 5), high ? Level::kHigh : Level::kLow});
      high = !high;
    }
    CHECK(edges_of(capture, 0) == expected);
  }
  options.csv.edges = LoneEdges::kRising;
  const Capture rising = must_read(testdata("valid/lone_time"), options);
  CHECK(rising.channels[0].rising_only);
  CHECK(rising.first_stamp == Ticks(15));
}

TEST_CASE("csv: steps that are rounded forbid a pass") {
  ReadOptions options;
  options.csv.time_is_step = true;
  const Capture capture = must_read("dt_ns,clk\n42,1\n41,0\n42,1\n", options);
  CHECK(edges_of(capture, 0) ==
        std::vector<LevelEvent>{{Ticks(83), Level::kLow},
                                {Ticks(125), Level::kHigh}});
  REQUIRE(capture.warnings.size() == 1);
  CHECK(capture.warnings[0].code == WarningCode::kTextCoarse);
  CHECK(capture.warnings[0].message ==
        "the times are steps from row to row, written to 0.000000001 s: unless "
        "every step is exact, their rounding adds up to a wrong frequency; "
        "state a --sample-rate whose interval is a multiple of that, or export "
        "times since a fixed instant");
}

TEST_CASE("csv: times printed from floating point resolve its last bit") {
  // 2^-22 s = 238.4 ns between 2^30 and 2^31 s; rounded up to ns.
  const Capture wide = must_read(testdata("valid/epoch_double"));
  CHECK(wide.grid.text_resolution_ticks == 239);
  REQUIRE(wide.warnings.size() == 1);
  CHECK(wide.warnings[0].code == WarningCode::kTextRounds);
  CHECK(wide.warnings[0].message ==
        "all times are 64-bit floating point numbers printed with more digits "
        "than they hold: they resolve 0.000000239 s, not 0.000000001 s, and "
        "that is reckoned with");
  // 0.1 … 0.5 in 32 bits, printed to ten digits: 2^-25 s at the largest.
  const Capture narrow = must_read(
      "time_s,clk\n0.1000000015,0\n0.2000000030,1\n0.3000000119,0\n"
      "0.4000000060,1\n0.5600000024,0\n");
  CHECK(narrow.grid.text_resolution_ticks == 597);  // 2^-24 s in 1e-10 s
  // Exact decimals are none: 0.3 s and 0.7 s are no multiples of 2^-22 s.
  CHECK(must_read("time_s,clk\n1700000000.100000000,0\n"
                  "1700000000.300000000,1\n1700000000.700000000,0\n")
            .warnings.empty());
}

TEST_CASE(
    "csv: times on a grid of powers of two are not taken for floating point") {
  // One pulse per second, and samples at 32 768 Hz with all their decimals: the
  // nearest number of 24 bits would be one to 2^-17 s at 64 s, but none of
  // these has that bit.
  std::string seconds = "rising_s\n";
  std::string samples = "time_s,clk\n";
  for (int i = 1; i <= 100; ++i) {
    seconds += std::to_string(i) + ".000000000\n";
    // 64 s + i / 32 768 s: 30 517 578 125 fs each.
    const std::string fs = std::to_string(30'517'578'125LL * i);
    samples += "64." + std::string(15 - fs.size(), '0') + fs + "," +
               std::to_string(i % 2) + "\n";
  }
  CHECK(must_read(seconds).grid.text_resolution_ticks == 1);
  CHECK(must_read(seconds).warnings.empty());
  const Capture at_rate = must_read(samples);
  CHECK(at_rate.grid.tick_s == power_of_ten(-15));
  CHECK(at_rate.grid.text_resolution_ticks == 1);
  // The same seconds through 24 bits, 0.1 s apart: 2^-17 s = 7.63 us at 64 s.
  std::string rounded = "rising_s\n";
  for (int i = 1; i <= 600; i += 3) {
    char text[32];
    std::snprintf(text, sizeof text, "%.9f\n",
                  static_cast<double>(static_cast<float>(0.1 * i + 10.0)));
    rounded += text;
  }
  CHECK(must_read(rounded).grid.text_resolution_ticks == 7630);
}

TEST_CASE("csv: a stated rate stands for lines that cannot be read") {
  const std::string rows = "sample,clk\n0,0\n1,1\n2,0\n3,1\n";
  for (const char* line : {"# sample rate: fast", "Sample Interval,0.25",
                           "# sample rate: 1 MHz\n# sample rate: 2 MHz",
                           "Sample Rate,4,000,000"}) {
    CAPTURE(std::string(line));
    const std::string text = std::string(line) + "\n" + rows;
    CHECK_FALSE(read_text(text, {}).has_value());
    ReadOptions options;
    options.sample_rate_hz = Rational(4'000'000);
    CHECK(must_read(text, options).grid.tick_s ==
          *Rational::make(1, 4'000'000));
  }
  // A line about another rate neither counts nor stands in the way.
  CHECK(must_read("# max sample rate: 100 MHz\n# sample rate: 4 MHz\n" + rows)
            .grid.tick_s == *Rational::make(1, 4'000'000));
}

TEST_CASE("csv: a threshold off the middle third is doubted") {
  // A triangle of eight samples a period: 0 to 4 and back.
  std::string text = "time_us,v\n";
  for (int i = 0; i < 40; ++i) {
    const int phase = i % 8;
    text += std::to_string(i) + "," +
            std::to_string(phase <= 4 ? phase : 8 - phase) + ".00\n";
  }
  const auto warnings_at = [&](std::int64_t percent) {
    ReadOptions options;
    options.analogue = clockassay::AnalogueOptions{Rational::make(percent, 100),
                                                   Rational::make(1, 10)};
    return must_read(text, options).warnings;
  };
  // Between 4/3 and 8/3, with half a tenth either way.
  CHECK(warnings_at(200).empty());
  CHECK(warnings_at(139).empty());
  CHECK(warnings_at(261).empty());
  REQUIRE(warnings_at(137).size() == 1);
  REQUIRE(warnings_at(262).size() == 1);
  const clockassay::Warning warning = warnings_at(380)[0];
  CHECK(warning.code == WarningCode::kThresholdOffCentre);
  CHECK(warning_info(warning.code).forbids_pass);
  CHECK(warning_info(warning.code).forbids_fail);
  CHECK(warning.message ==
        "the column \"v\" lies between 0 and 4, and turns high at 3.85 and low "
        "at 3.75, which is not within the middle third: peaks between samples "
        "may be missed; state a threshold nearer the middle, or a smaller "
        "hysteresis");
}

TEST_CASE("csv: a stated tick is kept to") {
  ReadOptions options;
  options.csv.tick_s = power_of_ten(-12);
  const Capture fine = must_read("time_us,clk\n0,0\n1,1\n2,0\n", options);
  CHECK(fine.grid.tick_s == power_of_ten(-12));
  CHECK(fine.grid.text_resolution_ticks == 1'000'000);
  options.csv.tick_s = power_of_ten(-6);
  const auto coarse = read_text("time_us,clk\n0,0\n1,1\n1.5,0\n", options);
  REQUIRE_FALSE(coarse.has_value());
  CHECK(
      coarse.error().message ==
      "found the time \"1.5\" with digits below 0.000001 s, expected none, as "
      "in the first rows");
  options.csv.tick_s = Rational::make(1, 3);
  const auto odd = read_text("time_us,clk\n0,0\n1,1\n", options);
  REQUIRE_FALSE(odd.has_value());
  CHECK(odd.error().code == ErrorCode::kUsage);
  CHECK(odd.error().message ==
        "found --tick 1/3 s, expected a power of ten from 1 s down to 1e-18 s");
}

TEST_CASE("csv: NULs at the end are left out with a warning") {
  const Capture capture = must_read(testdata("valid/nul_tail"));
  REQUIRE(capture.warnings.size() == 1);
  CHECK(capture.warnings[0].code == WarningCode::kUnusualSyntax);
  CHECK(capture.warnings[0].message ==
        "left out 9 NUL bytes at the end of the file");
  CHECK(edges_of(capture, 0).size() == 5);
  const auto inside =
      read_text(std::string_view("t_s,clk\n0,0\n1,\0001\n", 17));
  REQUIRE_FALSE(inside.has_value());
  CHECK(inside.error().message ==
        "found binary data (a NUL byte), expected text (VCD or CSV)");
  CHECK(inside.error().byte == 14);
}

TEST_CASE("csv: a VCD file is named as one, whatever it is called") {
  ReadOptions options;
  options.format = "csv";
  const auto read =
      read_text("$date today $end\n$timescale 1 ns $end\n", options);
  REQUIRE_FALSE(read.has_value());
  CHECK(read.error().message ==
        "found a VCD file, expected rows of times and levels");
  CHECK(read.error().hint == "leave --format out: it is recognised by content");
}

TEST_CASE("csv: what the user says decides, and nothing else is guessed") {
  // Each is refused without the option: see the files of the same name.
  ReadOptions separator;
  separator.csv.separator = ';';
  separator.csv.decimal_mark = ',';
  CHECK(edges_of(must_read("t_s;clk\n0,5;0\n1,5;1\n", separator), 0).size() ==
        1);
  // The stated unit wins over the header, cells over both.
  ReadOptions unit;
  unit.csv.time_unit = CsvTimeUnit{false, -3};
  const Capture in_ms = must_read("time_s,clk\n0,0\n1,1\n", unit);
  CHECK(in_ms.grid.tick_s == power_of_ten(-3));
  const auto& facts = in_ms.understanding.facts;
  CHECK(std::any_of(facts.begin(), facts.end(), [](const auto& fact) {
    return fact.because == "--time-unit, against the unit in the header";
  }));
  CHECK(must_read("time,clk\n0,0\n1 us,1\n", unit).grid.tick_s ==
        power_of_ten(-6));
}

TEST_CASE("csv: it is said how a file was understood") {
  const Capture capture = must_read(testdata("valid/key_value_preamble"));
  const auto fact = [&](const std::string& topic) {
    for (const auto& f : capture.understanding.facts) {
      if (f.topic == topic) return f.found + " / " + f.because;
    }
    return std::string("none");
  };
  CHECK(capture.understanding.facts[1].found == "Sample Rate,2000000");
  CHECK(capture.understanding.facts[1].because ==
        "states the sample rate: 2000000 Hz");
  CHECK(fact("separator") == "comma / in 9 of 9 lines with numbers");
  CHECK(fact("decimal mark") == "point / in the times");
  CHECK(fact("header row") == "time_us,clk / names the time");
  CHECK(fact("time column") == "1, time_us / by its name");
  CHECK(fact("time unit") == "us / in the header");
  CHECK(fact("tick") == "0.0000001 s / holds every digit of the first rows");
  CHECK(fact("rows") ==
        "changes / no constant step with rows that change nothing in the "
        "first 6 rows");
  // Said once, by the analysis.
  CHECK(fact("sampling interval") == "none");
  CHECK(capture.grid.source_reason == "stated in line 2");
  const auto& records = capture.understanding.first_records;
  REQUIRE(records.size() == 5);
  CHECK(records[1].line == 9);
  CHECK(records[1].text == "1.5,1");
  CHECK(records[1].time_s == "0.0000015");
  CHECK(records[1].values == std::vector<std::string>{"clk = 1"});
}

TEST_CASE("csv: the earliest and the latest time there can be") {
  const std::string low = "-4611686018427387903";
  const std::string high = "4611686018427387903";
  const Capture capture =
      must_read("time_s,clk\n" + low + ",0\n0,1\n" + high + ",0\n");
  CHECK(edges_of(capture, 0) ==
        std::vector<LevelEvent>{{Ticks(0), Level::kHigh},
                                {Ticks(4611686018427387903), Level::kLow}});
  const Capture rising = must_read("rising_s\n" + low + "\n0\n" + high + "\n");
  CHECK(edges_of(rising, 0).size() == 5);
  CHECK_FALSE(
      read_text("time_s,clk\n-4611686018427387904,0\n0,1\n").has_value());
}

TEST_CASE("csv: how the sampling interval is known") {
  const std::string rows = "time_us,clk\n0,0\n1,0\n2,1\n3,1\n4,0\n5,0\n";
  Capture capture = must_read(rows);
  CHECK(capture.grid.source == SampleIntervalSource::kRows);
  CHECK(capture.grid.sample_interval_s == power_of_ten(-6));

  capture = must_read("# sample rate: 1 MHz\n" + rows);
  CHECK(capture.grid.source == SampleIntervalSource::kHeader);
  CHECK(capture.grid.sample_interval_s == power_of_ten(-6));
  CHECK(capture.warnings.empty());

  ReadOptions options;
  options.sample_rate_hz = Rational(1'000'000);
  capture = must_read("# sample rate: 2 MHz\n" + rows, options);
  CHECK(capture.grid.source == SampleIntervalSource::kOption);
  REQUIRE(capture.warnings.size() == 1);
  CHECK(capture.warnings[0].code == WarningCode::kOptionAgainstFile);
  CHECK(capture.warnings[0].message ==
        "--sample-rate states 1000000 Hz, which is believed, but the file "
        "states 2000000 Hz");
  CHECK(must_read("# sample rate: 1 MHz\n" + rows, options).warnings.empty());

  capture = must_read("# sample rate: 2 MHz\n" + rows);
  REQUIRE(warns_of(capture, WarningCode::kSamplingContradicted));
  CHECK(capture.warnings[0].message ==
        "the rows are 0.000001 s apart, but the sample rate is stated as "
        "2000000 Hz; state the true one with --sample-rate");

  // Changes, not samples: every row but the last has one.
  capture = must_read("time_us,clk\n0,0\n1,1\n2,0\n3,1\n4,1\n");
  CHECK(capture.grid.source == SampleIntervalSource::kUnknown);
  CHECK_FALSE(capture.grid.sample_interval_s.has_value());
  // Nor are rows at uneven steps.
  capture = must_read("time_us,clk\n0,0\n1,0\n2,1\n4,1\n5,0\n");
  CHECK(capture.grid.source == SampleIntervalSource::kUnknown);
}

TEST_CASE("csv: the resolution is that of the coarsest stamp") {
  const auto resolution = [](const std::string& times) {
    std::string text = "time_s,clk\n";
    int level = 0;
    std::string row;
    for (char c : times + " ") {
      if (c != ' ') {
        row += c;
        continue;
      }
      text += row + "," + std::to_string(level) + "\n";
      level = 1 - level;
      row.clear();
    }
    const Capture capture = must_read(text);
    const auto ticks = static_cast<double>(capture.grid.text_resolution_ticks);
    return std::lround(std::log10(ticks * capture.grid.tick_s.to_double()));
  };
  // A fixed number of decimals, whether zeros at the end are written or not.
  CHECK(resolution("0.000 0.125 0.250 10.500") == -3);
  CHECK(resolution("0 0.125 0.25 10.5 10.625") == -3);
  // 10.5 may be 10.500 or a number of three digits: the coarser is taken.
  CHECK(resolution("0 0.125 0.25 10.5") == -1);
  // Five significant digits: 1.2345E-07 is fine, 3.0000E-01 known to 1e-5.
  CHECK(resolution("1.2345E-07 2.0000E-04 3.0000E-01") == -5);
  // Six significant digits, zeros left out.
  CHECK(resolution("0 0.00123457 0.5 12.3457 12.5") == -4);
}

TEST_CASE("csv: rising edges stand for cycles whose falls nobody saw") {
  const Capture capture = must_read(testdata("valid/rising_edges"));
  REQUIRE(capture.channels.size() == 1);
  CHECK(capture.channels[0].rising_only);
  CHECK(capture.channels[0].name == "rising");
  CHECK(capture.grid.tick_s == power_of_ten(-8));
  std::vector<std::int64_t> rises;
  for (const LevelEvent& edge : edges_of(capture, 0)) {
    if (edge.level == Level::kHigh) rises.push_back(edge.time.count());
  }
  CHECK(rises == std::vector<std::int64_t>{100, 300, 500});
}

TEST_CASE("csv: a last row that was cut off is left out with a warning") {
  const std::string rows = "time_s,clk\n0.000,low\n0.100,high\n0.200,low\n";
  for (const char* rest : {"0", "0.3", "0.300,hi", "-"}) {
    CAPTURE(std::string(rest));
    const Capture capture = must_read(rows + rest);
    CHECK(warns_of(capture, WarningCode::kTruncatedEnd));
    CHECK(capture.last_stamp == Ticks(200));
  }
  for (const char* rest : {"0.300,high", "0.300,", "# the e", ""}) {
    CAPTURE(std::string(rest));
    CHECK_FALSE(warns_of(must_read(rows + rest), WarningCode::kTruncatedEnd));
  }
  // Before a line end nothing is forgiven.
  CHECK_FALSE(read_text(rows + "0.300\n").has_value());
  CHECK_FALSE(read_text(rows + "0.300,hi\n").has_value());
}

TEST_CASE("csv: a cut rising edge shows only by its missing decimals") {
  const std::string rows = "rising_s\n0.100\n0.200\n0.300\n";
  CHECK(must_read(rows + "0.400").last_stamp == Ticks(400));
  Capture capture = must_read(rows + "0.4");
  CHECK(capture.last_stamp == Ticks(300));
  CHECK(warns_of(capture, WarningCode::kTruncatedEnd));
  // Without a common number of decimals any number may be half of one.
  capture = must_read("rising_s\n0.1\n0.25\n0.35");
  CHECK(capture.last_stamp == Ticks(25));
  CHECK(warns_of(capture, WarningCode::kTruncatedEnd));
}

TEST_CASE("csv: columns that are not selected may hold anything") {
  const std::string text = "time_s,volts,clk\n0,3.3,0\n1,0.1,1\n2,-4,0\n";
  CHECK(warns_of(must_read(text), WarningCode::kColumnsNotRead));
  ReadOptions options;
  options.channels = {"clk"};
  const Capture capture = must_read(text, options);
  REQUIRE(capture.channels.size() == 1);
  CHECK(capture.channels[0].name == "clk");
  CHECK(capture.warnings.empty());
  CHECK(capture.channel_names == std::vector<std::string>{"volts", "clk"});
  CHECK(edges_of(capture, 0).size() == 2);
}

TEST_CASE("csv: the last row is whole if the columns that are read are") {
  ReadOptions options;
  options.channels = {"clk"};
  for (const char* rest : {"2,0,3.3", "2,0,-", "2,0,"}) {
    CAPTURE(std::string(rest));
    const Capture capture = must_read(
        "time_s,clk,volts\n0,0,3.3\n1,1,0.1\n" + std::string(rest), options);
    CHECK(capture.warnings.empty());
    CHECK(edges_of(capture, 0).size() == 2);
  }
  const Capture cut =
      must_read("time_s,clk,volts\n0,0,3.3\n1,1,0.1\n2,0", options);
  CHECK(warns_of(cut, WarningCode::kTruncatedEnd));
}

TEST_CASE("csv: missing channels can be skipped, down to none at all") {
  const std::string text =
      "time_s,volts,clk [0],volts\n0,3.3,0,?\n1,0.1,1,?\n2,-4,0,?";
  ReadOptions options;
  options.channels = {"mco", "clk[0]", "clk"};
  CHECK_FALSE(read_text(text, options).has_value());
  options.skip_missing_channels = true;
  const Capture some = must_read(text, options);
  REQUIRE(some.channels.size() == 1);
  CHECK(some.channels[0].name == "clk [0]");
  CHECK(some.channels[0].asked == std::vector<std::string>{"clk[0]", "clk"});
  CHECK(edges_of(some, 0).size() == 2);
  CHECK(some.missing_channels == std::vector<std::string>{"mco"});
  CHECK(some.warnings.empty());
  options.channels = {"mco"};
  const Capture none = must_read(text, options);
  CHECK(none.channels.empty());
  CHECK(none.missing_channels == std::vector<std::string>{"mco"});
  CHECK(none.warnings.empty());
  const Capture lone = must_read("rising_s\n0.10\n0.20\n0.30\n", options);
  CHECK(lone.channels.empty());
}

TEST_CASE("csv: a name that stands twice is a warning") {
  const Capture capture = must_read("time_s,a,a\n0,0,0\n1,1,1\n2,0,0\n");
  CHECK(capture.channels.size() == 2);
  REQUIRE(warns_of(capture, WarningCode::kDuplicateNames));
  CHECK(capture.warnings[0].message == "more than one column is named \"a\"");
}

TEST_CASE("csv: tens of thousands of names that stand twice are one warning") {
  // Each compared with all behind it, they would take minutes.
  constexpr int kColumns = 200'000;
  std::string text = "time_s";
  std::string row;
  for (int i = 0; i < kColumns; ++i) {
    text += ",c" + std::to_string(i / 2);
    row += ",0";
  }
  text += "\n0" + row + "\n1" + row + "\n2" + row + "\n";
  const Capture capture = must_read(text);
  CHECK(capture.channels.size() == kColumns);
  REQUIRE(warns_of(capture, WarningCode::kDuplicateNames));
  CHECK(capture.warnings[0].message ==
        "100000 names are each that of more than one column: \"c0\", \"c1\", "
        "\"c10\", \"c100\", \"c1000\", \"c10000\", \"c10001\", \"c10002\" "
        "and 99992 more");
}

TEST_CASE("csv: two levels at one time are a pulse of no width, not an edge") {
  const Capture capture =
      must_read("time_s,clk\n0,0\n1,1\n1,0\n2,1\n3,0\n3,1\n4,0\n");
  CHECK(capture.channels[0].zero_width_pulses == 2);
  const std::vector<LevelEvent> expected = {{Ticks(2), Level::kHigh},
                                            {Ticks(4), Level::kLow}};
  CHECK(edges_of(capture, 0) == expected);
}

TEST_CASE("csv: what is simulated and written is read back exactly") {
  struct Case {
    std::int64_t frequency, sample_rate;
    double jitter;
  };
  for (const Case& c :
       {Case{12'000'000, 100'000'000, 0.0}, Case{12'000'000, 100'000'000, 5e-9},
        Case{32'768, 8'000'000, 0.0}, Case{1'000'000, 16'000'000, 50e-9}}) {
    CAPTURE(c.frequency);
    clockassay::SimulatedClockOptions options;
    options.frequency_hz = Rational(c.frequency);
    options.offset_ppm = Rational(17);
    options.sample_rate_hz = Rational(c.sample_rate);
    options.cycles = 6000;
    options.jitter_rms_s = c.jitter;
    options.drop_probability = 0.001;
    options.glitch_probability = 0.001;
    const auto simulated = clockassay::simulate_clock(options).value();
    const std::string text = clockassay::csv_text(simulated, "clk_out").value();
    for (const std::size_t piece : {1'000u, 1u << 22}) {
      const auto capture = read_text(text, {}, {piece, 3, 5000});
      REQUIRE(capture.has_value());
      CHECK(capture->warnings.empty());
      CHECK(capture->grid.source == SampleIntervalSource::kHeader);
      CHECK(capture->grid.sample_interval_s ==
            *Rational::make(1, c.sample_rate));
      const auto ticks =
          divide(*capture->grid.sample_interval_s, capture->grid.tick_s);
      REQUIRE(ticks->is_integer());
      const auto per_sample = static_cast<std::int64_t>(ticks->num());
      std::vector<LevelEvent> expected;
      bool high = simulated.first_level == Level::kHigh;
      for (const std::int64_t n : simulated.edges) {
        high = !high;
        expected.push_back(
            {Ticks(n * per_sample), high ? Level::kHigh : Level::kLow});
      }
      CHECK(edges_of(*capture, 0) == expected);
      CHECK(capture->last_stamp == Ticks(simulated.last_sample * per_sample));
    }
  }
}
