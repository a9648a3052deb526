// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/csv_separator.h"

#include <doctest/doctest.h>

#include <string_view>
#include <vector>

using clockassay::CsvLine;
using clockassay::separator_line;
using clockassay::vote_separator;

namespace {

// The separator, or '?' for none.
char voted(const std::vector<std::string_view>& texts) {
  std::vector<CsvLine> lines;
  for (const auto text : texts) lines.push_back({text, 0, 0, true});
  const auto vote = vote_separator(lines);
  return vote ? vote->separator : '?';
}

}  // namespace

TEST_CASE("vote_separator: what most lines with numbers hold decides") {
  CHECK(voted({"a;b", "0,0", "1,1"}) == ',');
  CHECK(voted({"0|0", "1|1", "2,2"}) == '|');
  CHECK(voted({"0\t0,5", "1\t1,5"}) == '\t');
  CHECK(voted({"0,5;0", "1,5;1"}) == ';');
  CHECK(voted({"0.5  0", "1.5  1"}) == ' ');
  CHECK(voted({"0.5, 0", "1.5, 1"}) == ',');
}

TEST_CASE("vote_separator: a lone column has none, with or without units") {
  CHECK(voted({"0.5", "1.5"}) == '?');
  CHECK(voted({"0.5 us", "1.5 us"}) == '?');
  CHECK(voted({"some words, and more", "no number"}) == '?');
}

TEST_CASE("separator_line: states one character in any case") {
  CHECK(separator_line("sep=;") == ';');
  CHECK(separator_line("SEP=\t") == std::nullopt);  // trimmed away
  CHECK(separator_line("\"sep=|\"") == '|');
  CHECK_FALSE(separator_line("sep=").has_value());
  CHECK_FALSE(separator_line("sep=x").has_value());
  CHECK_FALSE(separator_line("sep=;,").has_value());
}
