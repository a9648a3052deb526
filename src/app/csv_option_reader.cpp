// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/csv_option_reader.h"

#include <algorithm>
#include <string>
#include <string_view>
#include <utility>

#include "app/csv_words.h"
#include "clockassay/base/decimal.h"

namespace clockassay {
namespace {

// Every option read here.
constexpr std::string_view kCsvOptions[] = {
    "--separator",  "--decimal-mark", "--time-column", "--time-unit",
    "--time-steps", "--rows",         "--edges",       "--levels",
    "--radix",      "--tick",         "--threshold"};

// The value of the word that was given; the table of options has the same
// words.
template <class Value, std::size_t N>
std::optional<Value> choice(OptionReader& reader, std::string_view name,
                            const Word<Value> (&words)[N]) {
  const auto given = reader.word(name);
  if (!given) return std::nullopt;
  return std::find_if(std::begin(words), std::end(words),
                      [&given](const auto& w) { return w.word == *given; })
      ->value;
}

std::string_view trim(std::string_view text) {
  while (!text.empty() && text.front() == ' ') text.remove_prefix(1);
  while (!text.empty() && text.back() == ' ') text.remove_suffix(1);
  return text;
}

void read_time_column(OptionReader& reader, CsvOptions& csv) {
  const auto column = reader.given().one("--time-column");
  if (!column) return;
  csv.time_column = *column;
  if (column->find_first_not_of('0') == std::string::npos) {
    reader.refuse("--time-column",
                  "found \"" + *column +
                      "\", expected a column's name, its number from 1 on, or "
                      "none");
  }
  if (*column == "none" && csv.time_is_step) {
    reader.refuse("--time-steps", "does not go with --time-column none",
                  "steps of time need the column they stand in");
  }
  if (*column == "none" && csv.time_unit) {
    reader.refuse("--time-unit", "does not go with --time-column none",
                  "without times the rows are samples: state --sample-rate");
  }
}

void read_levels(OptionReader& reader, CsvOptions& csv) {
  const auto text = reader.given().one("--levels");
  if (!text) return;
  const std::size_t comma = text->find(',');
  if (comma == std::string::npos || comma != text->rfind(',')) {
    reader.refuse("--levels", "found \"" + *text +
                                  "\", expected two words with one comma "
                                  "between them: what low and high are "
                                  "written as, such as -1,1");
    return;
  }
  const std::string low(trim(std::string_view(*text).substr(0, comma)));
  const std::string high(trim(std::string_view(*text).substr(comma + 1)));
  if (low.empty() || high.empty() || low == high) {
    reader.refuse("--levels", "found \"" + *text +
                                  "\", expected two different words, such as "
                                  "-1,1");
    return;
  }
  csv.levels = {low, high};
}

void read_tick(OptionReader& reader, CsvOptions& csv) {
  csv.tick_s = reader.time("--tick");
  if (csv.tick_s && csv.tick_s->sign() == 0) {
    reader.refuse("--tick", "found 0, expected the finest step of time");
  }
}

bool all_digits(std::string_view text) {
  return !text.empty() &&
         text.find_first_not_of("+-0123456789") == std::string_view::npos;
}

// A number that may carry V or mV: then in volts, which is said.
std::optional<Rational> volts(std::string_view text, bool& in_volts) {
  text = trim(text);
  in_volts = text.ends_with('V');
  const bool milli = text.ends_with("mV");
  if (milli) {
    text.remove_suffix(2);
  } else if (text.ends_with('V')) {
    text.remove_suffix(1);
  }
  const auto number = parse_decimal(trim(text));
  if (!number) return std::nullopt;
  return milli ? divide(number->value, Rational(1000)) : number->value;
}

void read_threshold(OptionReader& reader, ReadingArguments& arguments) {
  const auto given = reader.given().one("--threshold");
  if (!given) return;
  const std::string_view text(*given);
  const std::string found = "found \"" + *given + "\"";
  AnalogueOptions analogue;
  if (text != "auto") {
    const std::size_t comma = text.find(',');
    const bool two = comma != std::string_view::npos;
    const std::string_view first = text.substr(0, comma);
    const std::string_view second = two ? text.substr(comma + 1) : "";
    if (two && all_digits(first) && all_digits(second)) {
      // Half of the world would mean one and a half by 1,5.
      reader.refuse("--threshold", found + ", which may be one number or two",
                    "write one as 1.65, two as 1.0,65 or 1V,65V");
      return;
    }
    analogue.threshold = volts(first, analogue.threshold_in_volts);
    if (two) {
      analogue.hysteresis = volts(second, analogue.hysteresis_in_volts);
    }
    if (!analogue.threshold || (two && !analogue.hysteresis)) {
      reader.refuse("--threshold",
                    found +
                        ", expected VOLTS, VOLTS,HYSTERESIS or auto, such as "
                        "1.65 or 1.65V,200mV");
      return;
    }
    if (analogue.hysteresis && analogue.hysteresis->sign() < 0) {
      reader.refuse("--threshold",
                    found + ", expected a hysteresis of zero or more");
    }
  }
  arguments.analogue = analogue;
}

}  // namespace

void read_csv_options(OptionReader& reader, ReadingArguments& arguments) {
  CsvOptions& csv = arguments.csv;
  csv.separator = choice(reader, "--separator", kSeparatorWords);
  csv.decimal_mark = choice(reader, "--decimal-mark", kDecimalMarkWords);
  csv.time_unit = choice(reader, "--time-unit", kTimeUnitWords);
  csv.time_is_step = reader.given().has("--time-steps");
  read_time_column(reader, csv);
  csv.rows = choice(reader, "--rows", kRowsWords);
  csv.edges = choice(reader, "--edges", kEdgesWords);
  read_levels(reader, csv);
  csv.radix = choice(reader, "--radix", kRadixWords);
  read_tick(reader, csv);
  read_threshold(reader, arguments);
  for (const std::string_view name : kCsvOptions) {
    if (!reader.given().has(name)) continue;
    arguments.csv_only.emplace_back(name);
    if (arguments.format == "vcd") {
      reader.refuse(name, "is about CSV files, and --format says vcd",
                    "leave one of the two out");
    }
  }
}

}  // namespace clockassay
