// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/csv_other_times.h"

#include <doctest/doctest.h>

#include <string>

#include "clockassay/base/warning.h"
#include "support/read_text.h"

using namespace clockassay;
using test::read_text;

namespace {

std::size_t warnings_of(const std::string& text, const ReadOptions& options) {
  const auto capture = read_text(text, options);
  REQUIRE(capture);
  std::size_t found = 0;
  for (const Warning& w : capture->warnings) {
    found += w.code == WarningCode::kOtherTimes;
  }
  return found;
}

}  // namespace

TEST_CASE("other times: a second rising column before a channel is doubted") {
  // Y2 has times of its own: at those of X1 it would seem to be X1's clock.
  const std::string text =
      "X1,Y1,X2,Y2\n"
      "0.000000208,1,0.000000208,1\n"
      "0.000000708,0,0.000000667,0\n"
      "0.000001208,1,0.000001167,1\n"
      "0.000001708,0,0.000001625,0\n";
  ReadOptions options;
  options.csv.time_column = "1";
  options.csv.time_unit = CsvTimeUnit{};
  const auto capture = read_text(text, options);
  REQUIRE(capture);
  std::string message;
  for (const Warning& w : capture->warnings) {
    if (w.code == WarningCode::kOtherTimes) message = w.message;
  }
  CHECK(message ==
        "the column \"X2\" rises as times do, but the channels to its right "
        "are read at the times of the column \"X1\"; if it holds their times, "
        "name it with --time-column and read them alone, else delete it");
  CHECK(warning_info(WarningCode::kOtherTimes).forbids_pass);
  options.channels = {"Y2"};
  CHECK(warnings_of(text, options) == 1);
  // Y1 stands to the left of it.
  options.channels = {"Y1"};
  CHECK(warnings_of(text, options) == 0);
}

TEST_CASE("other times: counts of rows, falling numbers and levels are none") {
  for (const char* column :
       {"7,8,9,10", "0,0,1,1", "3,2,1,0", "1.5,1.4,1.6,2", "0.5,0.5,0.5,0.5"}) {
    CAPTURE(column);
    std::string text = "time_s,other,clk\n";
    std::string rest = column;
    for (int i = 0; i < 4; ++i) {
      text += std::to_string(i) + "," + rest.substr(0, rest.find(',')) + "," +
              std::to_string(i % 2) + "\n";
      rest.erase(0, rest.find(',') + 1);
    }
    ReadOptions options;
    options.channels = {"clk"};
    CHECK(warnings_of(text, options) == 0);
  }
  ReadOptions options;
  options.channels = {"clk"};
  CHECK(warnings_of("time_s,other,clk\n0,7,0\n1,9,1\n2,9,0\n3,12,1\n",
                    options) == 1);
}

TEST_CASE(
    "other times: rows with times that are taken for samples are doubted") {
  ReadOptions options;
  options.csv.time_column = "none";
  options.sample_rate_hz = Rational(5'000'000);
  options.channels = {"clk"};
  const auto capture = read_text(
      "time_s,clk\n0,0\n0.00000025,1\n0.0000005,0\n0.00000075,1\n", options);
  REQUIRE(capture);
  REQUIRE(!capture->warnings.empty());
  CHECK(capture->warnings[0].code == WarningCode::kOtherTimes);
  CHECK(capture->warnings[0].message ==
        "the column \"time_s\" rises as times do, but the rows are taken for "
        "samples of the stated rate; if it holds the times, leave out "
        "--time-column none, else delete it");
}
