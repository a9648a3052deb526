// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "clockassay/base/result.h"

namespace clockassay {

/// One row of a table; as many cells as there are known names.
struct TableRow {
  std::int64_t line = 0;  ///< of the text, from 1
  std::vector<std::string> cells;
};

/// A small CSV table whose columns are known by name.
struct NamedTable {
  std::vector<std::string_view> names;  ///< those that are known
  std::vector<bool> has;                ///< which of them the header names
  std::int64_t header_line = 1;
  std::vector<TableRow> rows;
  char decimal_mark = '.';
};

/// What a table is for, as messages say it.
struct TableKind {
  std::string_view what;  ///< "a series"
  std::span<const std::string_view> names;
  std::string_view example;  ///< a header row
  std::string_view hint;     ///< where the text is no such table at all
};

/// Reads a table: a header row of known names, each once, in any order; then
/// rows of as many cells. Cells are apart by comma, semicolon or tab, by the
/// header or a line `sep=;` before it. Blank lines and those that begin with #
/// are passed over. Where columns are not apart by commas, numbers may have a
/// decimal comma, then all of them.
/// Errors: kBadData with line, column, what was found and what was expected
Result<NamedTable> read_named_table(std::string_view text,
                                    const TableKind& kind);

/// The index of a known name. In: it is one of them
std::size_t column_of(const NamedTable& table, std::string_view name);

/// Whether a cell holds anything.
bool has_cell(const NamedTable& table, const TableRow& row,
              std::string_view name);

/// An error about one cell.
tl::unexpected<Error> refuse_cell(const TableRow& row, std::string_view column,
                                  const std::string& found,
                                  const std::string& expected,
                                  std::string hint = {});

/// The number in a cell; absent where it is empty.
/// Errors: kBadData where it is no finite decimal number
Result<std::optional<double>> number_in(const NamedTable& table,
                                        const TableRow& row,
                                        std::string_view name,
                                        std::string_view expected);

}  // namespace clockassay
