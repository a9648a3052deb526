// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/drift/series_table.h"

#include <doctest/doctest.h>

#include <string>

#include "support/approx.h"

using namespace clockassay;

namespace {

std::vector<SeriesRow> rows_of(const std::string& text) {
  const auto rows = read_series(text);
  REQUIRE_MESSAGE(rows, rows.error().message);
  return *rows;
}

// The message without the hint, with its line before it.
std::string refusal(const std::string& text) {
  const auto rows = read_series(text);
  if (rows) return "read";
  CHECK(rows.error().code == ErrorCode::kBadData);
  CHECK_FALSE(rows.error().hint.empty());
  return std::to_string(rows.error().line.value_or(0)) + ": " +
         rows.error().message;
}

}  // namespace

TEST_CASE("read_series: every column, in any order, empty cells absent") {
  const auto rows = rows_of(
      "# a chamber\n"
      "board,sweep,temperature_c,u_temperature_c,frequency_hz,u_hz,time_s\n"
      "A,up,-20.5,0.2,32768.5,0.001,100\n"
      "\n"
      "\"B, second\",,25,,1e3,,\n");
  REQUIRE(rows.size() == 2);
  CHECK(rows[0].line == 3);
  CHECK(rows[0].board == "A");
  CHECK(rows[0].sweep == Sweep::kUp);
  CHECK(rows[0].temperature_c == -20.5);
  CHECK(rows[0].u_temperature_c == 0.2);
  CHECK(rows[0].frequency_hz == 32768.5);
  CHECK(rows[0].resolution_hz == testing::approx(0.1));
  CHECK(rows[1].resolution_hz == testing::approx(1000.0));
  CHECK(rows[0].u_hz == 0.001);
  CHECK(rows[0].time_s == 100.0);
  CHECK_FALSE(rows[0].capture);
  CHECK(rows[1].line == 5);
  CHECK(rows[1].board == "B, second");
  CHECK(rows[1].sweep == Sweep::kNotStated);
  CHECK_FALSE(rows[1].u_temperature_c);
  CHECK_FALSE(rows[1].u_hz);
  CHECK_FALSE(rows[1].time_s);
}

TEST_CASE("read_series: byte order mark, CR LF, semicolons, decimal commas") {
  const auto rows = rows_of(
      "\xEF\xBB\xBFtemperature_c;frequency_hz\r\n-20,25;32768,125\r\n25;1\r\n");
  REQUIRE(rows.size() == 2);
  CHECK(rows[0].temperature_c == -20.25);
  CHECK(rows[0].frequency_hz == 32768.125);
  CHECK(rows_of("sep=;\ncapture;temperature_c\na,b.csv;7\n")[0].capture ==
        "a,b.csv");
  CHECK(rows_of("capture\ttemperature_c\na.csv\t7.5\n")[0].temperature_c ==
        7.5);
}

TEST_CASE("read_series: what is wrong is named with line and column") {
  const std::string head = "temperature_c,frequency_hz,u_hz\n";
  CHECK(refusal(head + "25,abc,1\n") ==
        "2: column frequency_hz: found \"abc\", expected a frequency in hertz "
        "above zero");
  CHECK(refusal(head + "25,0,1\n") ==
        "2: column frequency_hz: found \"0\", expected a frequency in hertz "
        "above zero");
  CHECK(refusal(head + "nan,1,1\n") ==
        "2: column temperature_c: found \"nan\", expected a temperature in "
        "degrees Celsius");
  CHECK(refusal(head + "25,1,inf\n").starts_with("2: column u_hz: found"));
  CHECK(refusal(head + "25,1,-0.1\n") ==
        "2: column u_hz: found \"-0.1\", expected a standard uncertainty in "
        "hertz above zero");
  // An uncertainty of zero is one that is not known.
  CHECK(refusal(head + "25,1,0\n").starts_with("2: column u_hz: found \"0\""));
  CHECK(refusal(head + ",1,1\n") ==
        "2: column temperature_c: found nothing, expected a temperature in "
        "degrees Celsius");
  CHECK(refusal(head + "298.15,1,1\n") ==
        "2: column temperature_c: found \"298.15\", expected a temperature in "
        "degrees Celsius from -200 to 200");
  CHECK(refusal(head + "25,1e999,1\n").starts_with("2: column frequency_hz"));
  CHECK(refusal(head + "25,1,1\n26,1,\n") ==
        "3: column u_hz: found nothing, expected it of all frequencies of a "
        "board or of none, as in line 2");
  CHECK(refusal(head + "25,1,1,1\n") ==
        "2: found 4 cells, expected 3 as in the header");
  CHECK(refusal(head + "25,32 768,1\n").starts_with("2: column frequency_hz"));
  CHECK(refusal(head) == "1: found a header and no row of a series");
}

TEST_CASE("read_series: columns unknown, twice or lacking are refused") {
  CHECK(refusal("temperature_C,frequency_hz\n25,1\n") ==
        "1: column 1: found \"temperature_C\", expected a column of a series");
  const auto near = read_series("temperature,frequency_hz\n25,1\n");
  REQUIRE_FALSE(near);
  CHECK(near.error().hint.starts_with("did you mean temperature_c?"));
  CHECK(refusal("temperature_c,temperature_c,capture\n1,2,a\n") ==
        "1: column 2: found \"temperature_c\" twice, expected each name once");
  CHECK(refusal("# none\ncapture\na.csv\n") ==
        "2: found no column temperature_c, expected it in a series");
  CHECK(refusal("temperature_c\n25\n") ==
        "1: found no column capture or frequency_hz, expected it in a series");
  CHECK(refusal("") == "0: found nothing, expected a series");
  CHECK(refusal(" {}") == "0: found JSON, expected a series as CSV");
}

TEST_CASE("read_series: a row is a capture or a frequency, once") {
  const std::string head = "capture,temperature_c,frequency_hz,u_hz\n";
  CHECK(refusal(head + "a.csv,25,1,\n") ==
        "2: column capture: found a capture and a frequency_hz, expected one "
        "of the two in each row");
  CHECK(refusal(head + ",25,,\n").starts_with("2: column capture: found nei"));
  CHECK(refusal(head + "a.csv,25,,1\n").starts_with("2: column u_hz"));
  CHECK(
      refusal(head + "a.csv,25,,\nb.csv,26,,\n./a.csv,27,,\n") ==
      "4: column capture: found \"./a.csv\", which line 2 names too; expected "
      "each capture once");
  CHECK(refusal("capture,temperature_c,sweep\na.csv,25,UP\n") ==
        "2: column sweep: found \"UP\", expected up, down or nothing");
  CHECK(refusal("capture,temperature_c,u_temperature_c\na.csv,25,-1\n")
            .starts_with("2: column u_temperature_c: found \"-1\""));
}

TEST_CASE("read_series: decimal marks are not mixed") {
  CHECK(refusal("temperature_c;frequency_hz\n20,5;1000,25\n21.5;1000,5\n") ==
        "3: column temperature_c: found \"21.5\", expected a temperature in "
        "degrees Celsius");
  // With commas between the columns the cells do not come out even.
  CHECK(refusal("temperature_c,frequency_hz\n20,5,1000,25\n") ==
        "2: found 4 cells, expected 2 as in the header");
}

TEST_CASE("read_series: no more points than are worth their cost") {
  std::string text = "temperature_c,frequency_hz\n";
  for (std::size_t i = 0; i < kMostPoints; ++i) text += "25,1000\n";
  CHECK(read_series(text));
  CHECK(refusal(text + "25,1000\n") ==
        "2002: found more than 2000 rows, "
        "expected no more");
}
