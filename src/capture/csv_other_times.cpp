// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/csv_other_times.h"

#include <algorithm>
#include <cstddef>
#include <optional>
#include <string>

#include "capture/power_of_ten.h"
#include "capture/shown_text.h"
#include "clockassay/base/decimal_text.h"

namespace clockassay {
namespace {

// Different values that make a column more than a pair of levels.
constexpr int kLeastValues = 3;

std::optional<Rational> number(std::string_view cell, char mark) {
  const auto text = scan_decimal<Int128>(cell, mark);
  if (!text) return std::nullopt;
  const auto digits =
      Rational::make(text->negative ? -text->digits : text->digits, 1);
  if (!digits) return std::nullopt;
  const int place = text->last_nonzero_place();
  constexpr int kFarthest = 30;  // powers of ten a Rational holds
  if (place < -kFarthest || place > kFarthest) return std::nullopt;
  return multiply(*digits, power_of_ten(place));
}

// Whether the cells of column `i` never fall, take several values, and do not
// just count the rows.
bool rises(const CsvSurvey& survey, std::size_t i, char mark) {
  std::optional<Rational> last;
  int values = 0;
  bool counts_rows = true;
  for (const SurveyRow& row : survey.rows) {
    if (i >= row.cells.size()) return false;
    const auto value = number(row.cells[i], mark);
    if (!value || (last && *value < *last)) return false;
    if (last) counts_rows &= add(*last, Rational(1)) == *value;
    values += !last || *last != *value;
    last = value;
  }
  return values >= kLeastValues && !counts_rows;
}

// The rightmost column that is read.
std::size_t last_read(const CsvLayout& csv) {
  std::size_t last = 0;
  for (std::size_t k = 0; k < csv.values.size(); ++k) {
    if (!csv.values[k].targets.empty()) {
      last = std::max(last, csv.columns.values[k]);
    }
  }
  return last;
}

}  // namespace

void warn_of_other_times(const CsvSurvey& survey, CsvLayout& csv) {
  const auto& time = csv.columns.time;
  const std::size_t end = time ? last_read(csv) : csv.columns.cells();
  for (std::size_t k = 0; k < csv.values.size(); ++k) {
    const std::size_t i = csv.columns.values[k];
    if (!csv.values[k].targets.empty() || (time && i < *time) || i >= end ||
        !rises(survey, i, csv.decimal_mark)) {
      continue;
    }
    const std::string rising = "the column " +
                               shown_text(csv.columns.names[i]) +
                               " rises as times do, but ";
    csv.layout.warnings.push_back(
        {WarningCode::kOtherTimes,
         time ? rising +
                    "the channels to its right are read at the times of the "
                    "column " +
                    shown_text(csv.columns.names[*time]) +
                    "; if it holds their times, name it with --time-column and "
                    "read them alone, else delete it"
              : rising +
                    "the rows are taken for samples of the stated rate; if it "
                    "holds the times, leave out --time-column none, else "
                    "delete it"});
    return;
  }
}

}  // namespace clockassay
