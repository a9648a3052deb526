// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/csv_preamble.h"

#include <string>
#include <vector>

#include "capture/csv_refusal.h"
#include "capture/csv_split.h"
#include "capture/stated_sample_rate.h"

namespace clockassay {
namespace {

// A line of keys and values as the sentence "key: value unit".
std::string as_sentence(std::string_view line, char separator) {
  std::vector<std::string_view> cells;
  if (is_preamble_comment(line) ||
      split_cells(line, separator, cells) != CellFault::kNone ||
      cells.size() < 2) {
    return std::string(line);
  }
  std::string text = plain_cell(cells[0]);
  if (!text.ends_with(':') && !text.ends_with('=')) text += ":";
  text += " " + plain_cell(cells[1]);
  for (std::size_t i = 2; i < cells.size(); ++i) {
    if (!cells[i].empty()) text += " " + plain_cell(cells[i]);
  }
  return text;
}

}  // namespace

bool is_preamble_comment(std::string_view line) {
  return is_blank_or_comment(line) || trim_cell(line).starts_with(';');
}

Result<void> take_preamble_line(const CsvLine& line, bool rate_is_stated,
                                CsvHead& head) {
  auto rate = stated_sample_rate(as_sentence(line.text, head.separator));
  const bool differs =
      rate && *rate && head.sample_rate_hz && **rate != *head.sample_rate_hz;
  if (rate_is_stated) {
    if (rate && *rate && !head.overridden_rate_hz) {
      head.overridden_rate_hz = **rate;
    }
    rate = std::optional<Rational>();
  } else if (!rate) {
    return refuse_at(line.begin, rate.error());
  } else if (differs) {
    return refuse_at(
        line.begin,
        {ErrorCode::kBadData,
         "found a sample rate of " + (*rate)->to_string() + " Hz, expected " +
             head.sample_rate_hz->to_string() + " Hz as stated above",
         "state the right one with --sample-rate, or delete the wrong one"});
  }
  if (*rate && !head.sample_rate_hz) {
    head.sample_rate_hz = *rate;
    head.sample_rate_byte = line.begin;
  }
  const std::string_view text = trim_cell(line.text);
  if (text.empty() || (!*rate && head.preamble.size() >= kMostPreambleFacts)) {
    return {};
  }
  head.preamble.push_back(
      {"preamble", std::string(text),
       *rate ? "states the sample rate: " + (*rate)->to_string() + " Hz"
             : "not used"});
  return {};
}

}  // namespace clockassay
