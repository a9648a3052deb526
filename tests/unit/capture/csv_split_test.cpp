// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/csv_split.h"

#include <doctest/doctest.h>

#include <string_view>
#include <vector>

using clockassay::CellFault;
using clockassay::plain_cell;
using clockassay::split_cells;

namespace {

using Cells = std::vector<std::string_view>;

Cells cells_of(std::string_view line, char separator) {
  Cells cells;
  CHECK(split_cells(line, separator, cells) == CellFault::kNone);
  return cells;
}

CellFault fault_of(std::string_view line) {
  Cells cells;
  return split_cells(line, ',', cells);
}

}  // namespace

TEST_CASE("split_cells: blanks around cells do not count, within quotes too") {
  CHECK(cells_of(" a , b\t,", ',') == Cells{"a", "b", ""});
  CHECK(cells_of("\" a \" ,\"b,c\"", ',') == Cells{"a", "b,c"});
  CHECK(cells_of("\ta\t\"b\tc\"", '\t') == Cells{"", "a", "b\tc"});
  CHECK(cells_of("", ',') == Cells{""});
}

TEST_CASE("split_cells: runs of blanks and tabs are one separator") {
  CHECK(cells_of("  0.5 \t 1  ", ' ') == Cells{"0.5", "1"});
  CHECK(cells_of("\"a b\"   c", ' ') == Cells{"a b", "c"});
}

TEST_CASE("split_cells: doubled quotes do not end a cell") {
  const Cells cells = cells_of("\"say \"\"a\"\",\"\"b\"\"\",2", ',');
  REQUIRE(cells.size() == 2);
  CHECK(plain_cell(cells[0]) == "say \"a\",\"b\"");
  CHECK(cells_of("\"\"", ',') == Cells{""});
}

TEST_CASE("split_cells: a quote that does not fit is a fault, one inside not") {
  CHECK(fault_of("1,\"2") == CellFault::kQuoteNotClosed);
  CHECK(fault_of("\"\"\"") == CellFault::kQuoteNotClosed);
  CHECK(fault_of("\"1\"2,3") == CellFault::kTextAfterQuote);
  CHECK(fault_of("5\" wide,3") == CellFault::kNone);
}
