// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/csv_split.h"

#include <algorithm>
#include <cstddef>

#include "capture/csv_cells.h"
#include "capture/shown_text.h"

namespace clockassay {
namespace {

constexpr std::size_t kNone = std::string_view::npos;

std::size_t find_separator(std::string_view line, char separator,
                           std::size_t from) {
  return separator == ' ' ? line.find_first_of(" \t", from)
                          : line.find(separator, from);
}

// Position of the quote that closes the one at `open`.
std::size_t closing_quote(std::string_view line, std::size_t open) {
  std::size_t at = line.find('"', open + 1);
  while (at != kNone && at + 1 < line.size() && line[at + 1] == '"') {
    at = line.find('"', at + 2);
  }
  return at;
}

}  // namespace

CellFault split_cells(std::string_view line, char separator,
                      std::vector<std::string_view>& cells) {
  cells.clear();
  if (separator == ' ') line = trim_cell(line);
  std::size_t at = 0;
  while (true) {
    std::size_t end = find_separator(line, separator, at);
    std::string_view cell = trim_cell(line.substr(at, end - at));
    if (!cell.empty() && cell[0] == '"') {
      const auto open = static_cast<std::size_t>(cell.data() - line.data());
      const std::size_t close = closing_quote(line, open);
      if (close == kNone) {
        cells.push_back(line.substr(open));
        return CellFault::kQuoteNotClosed;
      }
      end = find_separator(line, separator, close + 1);
      if (!trim_cell(line.substr(close + 1, end - close - 1)).empty()) {
        cells.push_back(line.substr(open, end - open));
        return CellFault::kTextAfterQuote;
      }
      cell = trim_cell(line.substr(open + 1, close - open - 1));
    }
    cells.push_back(cell);
    if (end == kNone) return CellFault::kNone;
    at = end + 1;
    if (separator == ' ') at = line.find_first_not_of(" \t", at);
  }
}

std::string plain_cell(std::string_view cell) {
  std::string text;
  for (std::size_t i = 0; i < cell.size(); ++i) {
    text += cell[i];
    if (cell.substr(i, 2) == "\"\"") ++i;
  }
  return text;
}

Error fault_error(CellFault fault, std::string_view cell) {
  if (fault == CellFault::kQuoteNotClosed) {
    return {
        ErrorCode::kBadData,
        "found a quote that is not closed on its line: " + shown_text(cell),
        "close the quote or delete it; line breaks within quotes are not read"};
  }
  return {ErrorCode::kBadData,
          "found text after a closing quote: " + shown_text(cell),
          "put the whole cell into quotes, or nothing of it"};
}

const char* separator_name(char separator) {
  switch (separator) {
    case ';':
      return "semicolon";
    case '\t':
      return "tab";
    case '|':
      return "bar";
    case ' ':
      return "blank";
    default:
      return "comma";
  }
}

}  // namespace clockassay
