// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/csv_separator.h"

#include <algorithm>
#include <cstddef>

#include "capture/csv_split.h"

namespace clockassay {
namespace {

// In the order of preference.
constexpr std::string_view kSeparators = "\t;|, ";

bool holds_digit(std::string_view text) {
  return text.find_first_of("0123456789") != std::string_view::npos;
}

bool separates(std::string_view line, char separator,
               std::vector<std::string_view>& cells) {
  if (separator == ' ') {
    // A blank between a number and its unit separates nothing.
    if (is_number_cell(trim_cell(line))) return false;
  } else if (line.find(separator) == std::string_view::npos) {
    return false;
  }
  if (split_cells(line, separator, cells) != CellFault::kNone) return false;
  return cells.size() > 1 &&
         std::any_of(cells.begin(), cells.end(), is_number_cell);
}

}  // namespace

std::optional<SeparatorVote> vote_separator(const std::vector<CsvLine>& lines) {
  std::int64_t numbers = 0;
  std::int64_t votes[kSeparators.size()] = {};
  std::vector<std::string_view> cells;
  for (const CsvLine& line : lines) {
    if (!holds_digit(line.text)) continue;
    bool counts = is_number_cell(trim_cell(line.text));
    for (std::size_t i = 0; i < kSeparators.size(); ++i) {
      if (!separates(line.text, kSeparators[i], cells)) continue;
      ++votes[i];
      counts = true;
    }
    if (counts) ++numbers;
  }
  for (std::size_t i = 0; i < kSeparators.size(); ++i) {
    if (2 * votes[i] > numbers) {
      return SeparatorVote{kSeparators[i], votes[i], numbers};
    }
  }
  return std::nullopt;
}

char separator_in(std::string_view header) {
  for (char separator : kSeparators) {
    if (separator == ' ') break;  // names hold blanks
    if (header.find(separator) != std::string_view::npos) return separator;
  }
  return ',';
}

std::optional<char> separator_line(std::string_view line) {
  line = trim_cell(line);
  if (line.size() > 2 && line.front() == '"' && line.back() == '"') {
    line = line.substr(1, line.size() - 2);
  }
  constexpr std::string_view kWord = "sep=";
  if (line.size() != kWord.size() + 1) return std::nullopt;
  const bool fits = std::equal(
      kWord.begin(), kWord.end(), line.begin(), [](char want, char c) {
        return want == (c >= 'A' && c <= 'Z' ? c - 'A' + 'a' : c);
      });
  if (!fits || kSeparators.find(line.back()) == std::string_view::npos) {
    return std::nullopt;
  }
  return line.back();
}

}  // namespace clockassay
