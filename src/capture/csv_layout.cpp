// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/csv_layout.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "capture/channel_selection.h"
#include "capture/csv_cells.h"
#include "capture/csv_survey.h"
#include "capture/exact_seconds.h"
#include "capture/power_of_ten.h"
#include "capture/shown_text.h"
#include "capture/stated_sample_rate.h"

namespace clockassay {
namespace {

// Bytes looked at first, and at most. Chosen: thousands of rows, enough to
// tell samples from changes; a preamble beyond the last is no preamble.
constexpr std::size_t kFirstLook = std::size_t{64} << 10;
constexpr std::size_t kLongestLook = std::size_t{16} << 20;

constexpr std::string_view kByteOrderMark = "\xEF\xBB\xBF";

tl::unexpected<Error> refuse_at(std::size_t byte, std::string message,
                                std::string hint = {}) {
  Error error{ErrorCode::kBadData, std::move(message), std::move(hint)};
  error.byte = static_cast<std::int64_t>(byte);
  return tl::unexpected<Error>(std::move(error));
}

tl::unexpected<Error> refuse_at(std::size_t byte, Error error) {
  return refuse_at(byte, std::move(error.message), std::move(error.hint));
}

// What is above the rows.
struct Preamble {
  std::optional<CsvLine> header;  // absent: not seen yet
  std::size_t body = 0;
  std::optional<Rational> sample_rate_hz;
};

bool is_preamble(std::string_view line) {
  return is_blank_or_comment(line) || trim_cell(line).starts_with(';');
}

Result<void> check_encoding(std::string_view text) {
  const auto is_control = [](char c) {
    return static_cast<unsigned char>(c) < ' ' && c != '\n' && c != '\r' &&
           c != '\t' && c != '\f';
  };
  const auto bad = std::find_if(text.begin(), text.end(), is_control);
  if (bad != text.end()) {
    const auto at = static_cast<std::size_t>(bad - text.begin());
    return refuse_at(
        at,
        "found the byte " + shown_text(text.substr(at, 1)) + ", expected text",
        "this is no CSV file but binary data, or it is damaged");
  }
  const std::size_t cr = text.find('\r');
  if (cr != std::string_view::npos && cr + 1 < text.size() &&
      text.find('\n') == std::string_view::npos) {
    return refuse_at(cr,
                     "found lines that end in CR alone, expected LF or "
                     "CRLF",
                     "save the file with LF line ends");
  }
  return {};
}

Result<Preamble> read_preamble(std::string_view text, bool all) {
  Preamble preamble;
  std::size_t at = text.starts_with(kByteOrderMark) ? 3 : 0;
  while (at < text.size()) {
    const CsvLine line = line_at(text, at);
    if (!line.ended && !all) return preamble;
    if (!is_preamble(line.text)) {
      preamble.header = line;
      preamble.body = next_line(text, line);
      return preamble;
    }
    const auto rate = stated_sample_rate(line.text);
    if (!rate) return refuse_at(at, rate.error());
    if (*rate && preamble.sample_rate_hz &&
        **rate != *preamble.sample_rate_hz) {
      return refuse_at(
          at,
          "found a sample rate of " + (*rate)->to_string() + " Hz, expected " +
              preamble.sample_rate_hz->to_string() + " Hz as stated above",
          "delete the wrong one");
    }
    if (*rate) preamble.sample_rate_hz = *rate;
    at = next_line(text, line);
  }
  return preamble;
}

bool has_row(std::string_view text, std::size_t body, bool all) {
  for (std::size_t at = body; at < text.size();) {
    const CsvLine line = line_at(text, at);
    if (!line.ended && !all) return false;
    if (!is_blank_or_comment(line.text)) return true;
    at = next_line(text, line);
  }
  return false;
}

// Which columns the pieces deliver.
Result<void> select_columns(const ReadOptions& options, CsvLayout& csv) {
  const std::vector<std::string>& names = csv.columns.levels;
  csv.layout.channel_names = names;
  auto selection =
      select_channels(names, options.channels, options.skip_missing_channels);
  if (!selection) return tl::unexpected<Error>(selection.error());
  csv.layout.missing = std::move(selection->missing);
  for (std::size_t i = 0; i < names.size(); ++i) {
    std::vector<std::string>& asked = selection->asked[i];
    const bool wanted = options.channels.empty() || !asked.empty();
    csv.slots.push_back(wanted ? static_cast<int>(csv.layout.selected.size())
                               : -1);
    if (!wanted) continue;
    csv.layout.selected.push_back({names[i], std::move(asked)});
    const auto rest = names.begin() + static_cast<std::ptrdiff_t>(i) + 1;
    if (std::find(rest, names.end(), names[i]) != names.end()) {
      csv.layout.warnings.push_back(
          {WarningCode::kDuplicateNames,
           "more than one column is named " + shown_text(names[i])});
    }
  }
  return {};
}

// The sampling interval: what the user says, else the file, else the rows.
void set_sampling(const ReadOptions& options, const Preamble& preamble,
                  const CsvSurvey& survey, CsvLayout& csv) {
  TimeGrid& grid = csv.layout.grid;
  grid.tick_s = power_of_ten(csv.tick_exponent);
  const auto rate =
      options.sample_rate_hz ? options.sample_rate_hz : preamble.sample_rate_hz;
  if (rate) {
    grid.sample_interval_s = divide(Rational(1), *rate);
    grid.source = options.sample_rate_hz ? SampleIntervalSource::kOption
                                         : SampleIntervalSource::kHeader;
  }
  if (!survey.row_step) return;
  const auto step = multiply(Rational(*survey.row_step), grid.tick_s);
  if (!rate) {
    grid.sample_interval_s = step;
    grid.source = SampleIntervalSource::kRows;
    return;
  }
  // A rate that the rows cannot show exactly would by now be a tick off.
  const double drift =
      (step->to_double() - grid.sample_interval_s->to_double()) *
      static_cast<double>(survey.rows - 1);
  if (std::abs(drift) > grid.tick_s.to_double()) {
    csv.layout.warnings.push_back(
        {WarningCode::kSamplingContradicted,
         "the rows are " + exact_seconds(Ticks(*survey.row_step), grid.tick_s) +
             " s apart, but the sample rate is stated as " + rate->to_string() +
             " Hz"});
  }
}

Result<CsvLayout> describe(std::string_view text, bool all,
                           const Preamble& preamble,
                           const ReadOptions& options) {
  const CsvLine& header = *preamble.header;
  CsvLayout csv;
  csv.header = std::string(trim_cell(header.text));
  const auto vote = vote_separator(text, preamble.body, all);
  if (vote && header.text.find(*vote) == std::string_view::npos) {
    return refuse_at(header.begin,
                     "found the header row " + shown_text(header.text) +
                         " without the separator " +
                         shown_text(std::string_view(&*vote, 1)) +
                         " of the rows",
                     *vote == ',' ? "with a decimal comma, separate the "
                                    "columns by a semicolon"
                                  : "use one separator in all rows");
  }
  csv.separator = vote.value_or(separator_in(header.text));
  auto columns = read_csv_columns(header.text, csv.separator);
  if (!columns) return refuse_at(header.begin, columns.error());
  csv.columns = *std::move(columns);
  if (!has_row(text, preamble.body, all)) {
    return refuse_at(text.size(),
                     "found a header row and no rows, expected rows of times",
                     "record the capture again");
  }
  const auto survey = survey_rows(text, preamble.body, all, csv);
  if (!survey) return tl::unexpected<Error>(survey.error());
  csv.decimal_mark = survey->decimal_mark;
  csv.tick_exponent = survey->tick_exponent;
  csv.row_step = survey->row_step;
  csv.fixed_decimals = survey->fixed_decimals;
  csv.layout.format = "csv";
  csv.layout.body_offset = static_cast<std::int64_t>(preamble.body);
  csv.layout.rising_only = csv.columns.rising_only;
  const auto selected = select_columns(options, csv);
  if (!selected) return tl::unexpected<Error>(selected.error());
  set_sampling(options, preamble, *survey, csv);
  return csv;
}

}  // namespace

void split_row(std::string_view line, const CsvLayout& csv,
               std::vector<std::string_view>& cells) {
  cells.clear();
  while (true) {
    const std::size_t end = line.find(csv.separator);
    cells.push_back(trim_cell(line.substr(0, end)));
    if (end == std::string_view::npos) break;
    line.remove_prefix(end + 1);
  }
  if (csv.columns.trailing_separator && cells.back().empty() &&
      cells.size() == csv.columns.cells() + 1) {
    cells.pop_back();
  }
}

Result<CsvLayout> read_csv_layout(std::string_view prefix, bool whole,
                                  const ReadOptions& options,
                                  bool& needs_more) {
  needs_more = false;
  for (std::size_t look = kFirstLook;; look *= 2) {
    if (prefix.size() < look && !whole) {
      needs_more = true;
      return failure(ErrorCode::kBadData,
                     "the header does not end in what was read so far");
    }
    const std::string_view text = prefix.substr(0, look);
    const bool all = whole && prefix.size() <= look;
    const auto encoding = check_encoding(text);
    if (!encoding) return tl::unexpected<Error>(encoding.error());
    const auto preamble = read_preamble(text, all);
    if (!preamble) return tl::unexpected<Error>(preamble.error());
    if (preamble->header && (all || has_row(text, preamble->body, all))) {
      return describe(text, all, *preamble, options);
    }
    if (all) {
      return refuse_at(text.size(),
                       "found only comments and blank lines, expected a header "
                       "row and rows",
                       "record the capture again");
    }
    if (look >= kLongestLook) {
      return refuse_at(0,
                       "found no header row and row in the first 16 MiB, "
                       "expected lines of text",
                       "this is no CSV file, or its preamble is too long");
    }
  }
}

}  // namespace clockassay
