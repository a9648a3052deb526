// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <optional>
#include <string_view>
#include <vector>

#include "capture/csv_cells.h"
#include "clockassay/capture/read_options.h"

namespace clockassay {

/// Where the rows begin, as indices of lines.
struct HeaderPlace {
  std::size_t header = 0;  ///< the header row, or the first row without one
  std::size_t first_row = 0;
  bool has_header = false;
  bool has_units = false;  ///< a row of units follows the header row
  const char* because = "";
};

/// Finds the header row among the lines that are neither blank nor comments:
/// the first that names a time column and is followed by a number in that
/// column (or by a row of units and then a number); else the first that names
/// one; else the line before the first rows that look alike.
class HeaderFinder {
 public:
  /// Both must outlive the finder.
  HeaderFinder(const std::vector<CsvLine>& lines, char separator,
               const ReadOptions& options)
      : lines_(lines), separator_(separator), options_(options) {}

  /// nullopt: no line may be a header or a row.
  std::optional<HeaderPlace> find() const;
  /// The cells of line `i`; none when a quote in it is not closed.
  std::vector<std::string_view> cells(std::size_t i) const;

 private:
  std::optional<std::size_t> time_cell(std::size_t i) const;
  bool is_number(std::size_t i, std::size_t column) const;
  bool is_unit_row(std::size_t i, std::size_t column) const;
  // What must be in a row: a number, or, without times, a word for a level.
  enum class RowsOf { kNumbers, kLevels };
  bool may_be_row(std::size_t i, std::size_t columns, RowsOf rows) const;
  bool is_row_of_levels(const std::vector<std::string_view>& row) const;
  std::optional<std::size_t> first_of_alike_rows(RowsOf rows) const;
  bool has_units_above(std::size_t first) const;
  std::optional<HeaderPlace> before_the_rows() const;

  const std::vector<CsvLine>& lines_;
  char separator_;
  const ReadOptions& options_;
};

}  // namespace clockassay
