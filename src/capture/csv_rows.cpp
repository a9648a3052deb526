// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/csv_rows.h"

#include <algorithm>
#include <functional>
#include <memory>
#include <set>
#include <string>
#include <utility>
#include <vector>

#include "capture/csv_cells.h"
#include "capture/csv_channels.h"
#include "capture/csv_rows_at_once.h"
#include "capture/csv_split.h"
#include "capture/csv_survey.h"
#include "capture/csv_values.h"
#include "capture/exact_seconds.h"
#include "capture/shown_text.h"

namespace clockassay {
namespace {

// The rows of one piece on their way into its channels.
class RowReader {
 public:
  RowReader(const CsvPieceParser& parser, const CsvLayout& csv, Piece& piece,
            std::string_view bytes, std::int64_t offset, ParseState state)
      : parser_(parser),
        csv_(csv),
        piece_(piece),
        bytes_(bytes),
        offset_(offset),
        state_(std::move(state)),
        values_(csv.values, csv.layout.selected.size(), state_.held),
        at_once_(csv, bytes, piece, state_, values_) {}

  // False: an error was found and the rest does not count.
  bool read(const CsvLine& line) {
    const CellFault fault = split_row(line.text, csv_, cells_);
    if (!line.ended && is_cut_off(fault)) {
      piece_.counts.truncated_end = true;
      return true;
    }
    if (fault != CellFault::kNone) {
      Error error = fault_error(fault, cells_.back());
      return refuse(byte_of(cells_.back()), std::move(error.message),
                    std::move(error.hint));
    }
    if (cells_.size() != csv_.columns.cells()) return refuse_count(line);
    if (!csv_.columns.time) return take_row(next_sample(), byte_of(line.text));
    const std::string_view cell = cells_[*csv_.columns.time];
    const auto time =
        parse_time_cell(cell, csv_.decimal_mark, csv_.columns.unit_exponent);
    if (!time) return refuse_stamp(line);
    auto ticks = stamp_ticks(time->stamp, csv_.tick_exponent - time->unit);
    if (ticks && csv_.columns.times_are_steps) ticks = after_step(*ticks);
    if (!ticks) return refuse_place(*time);
    count_digits(*time);
    return take_row(Ticks(*ticks), byte_of(cell));
  }

  // After a row that was read: takes those behind it that are like it, many at
  // a time; how many bytes they are.
  std::size_t take_at_once(const CsvLine& line) {
    return at_once_.take({bytes_.substr(line.begin, line.next - line.begin),
                          cells_, piece_.last_time},
                         line.next);
  }

  void finish() {
    piece_.channels = values_.finish();
    if (has_analogue(csv_.values)) state_.held = values_.save();
    piece_.exit = std::move(state_);
  }

 private:
  std::int64_t byte_of(std::string_view cell) const {
    return offset_ + (cell.data() - bytes_.data());
  }

  bool refuse(std::int64_t byte, std::string message, std::string hint = {}) {
    Error error{ErrorCode::kBadData, std::move(message), std::move(hint)};
    error.byte = byte;
    piece_.error = std::move(error);
    return false;
  }

  // Whether the last row, which no line end follows, lacks its end. A number
  // shows that only where all numbers have the same decimals.
  bool is_cut_off(CellFault fault) const {
    if (fault != CellFault::kNone) return true;
    if (cells_.size() < csv_.columns.cells()) return true;
    const std::size_t last = cells_.size() - 1;
    if (csv_.columns.time != last) return is_value_cut_off(last);
    const auto stamp = parse_stamp(cells_.back(), csv_.decimal_mark);
    return !stamp || !csv_.fixed_decimals || *csv_.fixed_decimals == 0 ||
           stamp->last_place != -*csv_.fixed_decimals;
  }

  bool is_value_cut_off(std::size_t last) const {
    const auto& columns = csv_.columns.values;
    if (csv_.columns.event_level) {
      const auto event = csv_.events.find(cells_[*csv_.columns.event_channel]);
      if (event == csv_.events.end()) return true;
      return last == *csv_.columns.event_level &&
             may_be_cut(csv_.values[event->second], cells_[last]);
    }
    const auto at = std::find(columns.begin(), columns.end(), last);
    return at != columns.end() &&
           may_be_cut(
               csv_.values[static_cast<std::size_t>(at - columns.begin())],
               cells_[last]);
  }

  // The time of a row without one: rows are samples.
  Ticks next_sample() const {
    if (state_.mode == kCsvBeforeRows) return Ticks(0);
    return state_.time + Ticks(csv_.ticks_per_row_tick);
  }

  // The time of a row that states the step to it.
  std::optional<std::int64_t> after_step(std::int64_t step) const {
    if (state_.mode == kCsvBeforeRows) return step;
    const std::int64_t time = state_.time.count() + step;  // both below 2^62
    if (time > kMostTicks || time < -kMostTicks) return std::nullopt;
    return time;
  }

  bool refuse_count(const CsvLine& line) {
    const std::int64_t byte = byte_of(line.text);
    if (is_header(line)) return refuse_header(byte);
    const std::size_t expected = csv_.columns.cells();
    const bool whole_number =
        cells_[0].find_first_not_of("0123456789-+") == std::string_view::npos;
    std::string hint = "complete the row or delete it";
    if (csv_.separator == ',' && cells_.size() == expected + 1 &&
        whole_number) {
      hint =
          "a decimal comma needs quotes around the cells, or a semicolon or a "
          "tab between them";
    }
    return refuse(byte,
                  "found " + std::to_string(cells_.size()) +
                      (cells_.size() == 1 ? " cell" : " cells") +
                      " in the row " + shown_text(line.text) + ", expected " +
                      std::to_string(expected) + " as in the header row",
                  std::move(hint));
  }

  bool refuse_header(std::int64_t byte) {
    return refuse(byte, "found the header row again, expected a row of data",
                  "split the file where it begins anew");
  }

  bool is_header(const CsvLine& line) const {
    return !csv_.header.empty() && trim_cell(line.text) == csv_.header;
  }

  bool refuse_stamp(const CsvLine& line) {
    const std::string_view cell = cells_[*csv_.columns.time];
    const std::int64_t byte = byte_of(cell);
    if (is_header(line)) return refuse_header(byte_of(line.text));
    if (!csv_.columns.unit_exponent && parse_stamp(cell, csv_.decimal_mark)) {
      return refuse(byte,
                    "found the time " + shown_text(cell) +
                        " without a unit, expected one as in other rows",
                    "write the unit behind every number, or state --time-unit "
                    "for those without");
    }
    return refuse(byte,
                  "found " + shown_text(cell) +
                      " in the time column, expected a decimal number",
                  stamp_hint(cell));
  }

  // The number is fine but cannot be held in ticks.
  bool refuse_place(const CellTime& time) {
    const std::string_view cell = cells_[*csv_.columns.time];
    const int place = time.stamp.last_nonzero_place() + time.unit;
    const std::int64_t byte = byte_of(cell);
    if (time.stamp.digits != 0 && place < csv_.tick_exponent) {
      if (csv_.columns.base == CsvTimeBase::kSamples) {
        return refuse(byte,
                      "found " + shown_text(cell) +
                          " in the column of sample numbers, expected a whole "
                          "number",
                      "state --time-unit if these are times");
      }
      return refuse(byte,
                    "found the time " + shown_text(cell) +
                        " with digits below " +
                        exact_seconds(Ticks(1), csv_.layout.grid.tick_s) +
                        " s, expected none, as in the first rows",
                    "write all times with the same number of decimals, or "
                    "state a finer --tick");
    }
    return refuse(
        byte,
        "found the time " + shown_text(cell) + ", expected at most " +
            exact_seconds(Ticks(kMostTicks), csv_.layout.grid.tick_s) + " s",
        "write the times with fewer decimals or from a later origin, or state "
        "a coarser --tick");
  }

  void count_digits(const CellTime& time) {
    const int shift = time.unit - csv_.tick_exponent;
    const std::optional<int> first =
        time.stamp.digits == 0
            ? std::nullopt
            : std::optional<int>(time.stamp.first_place() + shift);
    piece_.stamp_digits.add(first, time.stamp.last_place + shift);
  }

  bool take_row(Ticks time, std::int64_t byte) {
    if (piece_.has_time) {
      if (!follows(piece_.last_time, time, byte)) return false;
    } else {
      piece_.has_time = true;
      piece_.first_time = time;
      piece_.first_time_byte = byte;
      // What the channels must know of a gap before this the reader says.
      if (state_.mode == kCsvAfterRow &&
          parser_.missing_samples(state_.time, time)) {
        values_.forget_samples();
      }
    }
    if (!take_levels(time)) return false;
    piece_.last_time = time;
    if (state_.mode != 0) {
      state_.mode = kCsvAfterRow;
      state_.time = time;
    }
    return true;
  }

  // Nothing is known between two rows where samples are missing.
  bool follows(Ticks before, Ticks time, std::int64_t byte) {
    piece_.error = parser_.stamp_error(before, time, byte);
    if (piece_.error) return false;
    if (!csv_.row_step) return true;
    const auto missing = parser_.missing_samples(before, time);
    if (!missing) return true;
    piece_.counts.add(*missing);
    values_.break_off(missing->from);
    return true;
  }

  bool take_levels(Ticks time) {
    if (csv_.columns.lone) {
      if (!csv_.layout.selected.empty()) take_edge(time);
      return true;
    }
    if (csv_.columns.event_level) return take_event(time);
    const auto& columns = csv_.columns.values;
    for (std::size_t i = 0; i < columns.size(); ++i) {
      const std::string_view cell = cells_[columns[i]];
      auto error = values_.take(i, time, cell);
      if (error) return refuse_at(cell, std::move(*error));
    }
    return true;
  }

  bool take_event(Ticks time) {
    const std::string_view name = cells_[*csv_.columns.event_channel];
    const auto event = csv_.events.find(name);
    if (event == csv_.events.end()) {
      return (!name.empty() && passes(name)) || refuse_event(name);
    }
    const std::string_view cell = cells_[*csv_.columns.event_level];
    auto error = values_.take(event->second, time, cell);
    return !error || refuse_at(cell, std::move(*error));
  }

  // Whether it is none of the channels that are asked for.
  bool passes(std::string_view name) {
    if (csv_.asked.empty()) return false;
    if (others_.find(name) != others_.end()) return true;
    if (asked_for_by(csv_, name)) return false;
    others_.emplace(name);
    return true;
  }

  bool refuse_event(std::string_view name) {
    if (name.empty()) {
      return refuse(byte_of(name), "found no name of a channel in the row",
                    "complete the row or delete it");
    }
    if (const auto asked = asked_for_by(csv_, name)) {
      return refuse(byte_of(name),
                    "found the channel " + shown_text(name) +
                        ", which --channel " + *asked +
                        " may mean too, expected it among the first rows",
                    "name the one meant in full, or put a row of each channel "
                    "near the top of the file");
    }
    return refuse(byte_of(name),
                  "found the channel " + shown_text(name) +
                      ", expected one of those in the first rows",
                  "name the channels to be read with --channel");
  }

  bool refuse_at(std::string_view cell, Error error) {
    return refuse(byte_of(cell), std::move(error.message),
                  std::move(error.hint));
  }

  void take_edge(Ticks time) {
    if (*csv_.columns.lone == LoneEdges::kRising) {
      // Low for the tick before, so that every row is a rising edge and no
      // row must wait for the next one.
      values_.take_level(0, time - Ticks(1), Level::kLow);
      values_.take_level(0, time, Level::kHigh);
      return;
    }
    const bool rises = state_.held[0] == 1;
    // The first edge is one because the other level was there before it.
    if (state_.mode == kCsvBeforeRows) {
      values_.take_level(0, time - Ticks(1),
                         rises ? Level::kLow : Level::kHigh);
    }
    values_.take_level(0, time, rises ? Level::kHigh : Level::kLow);
    state_.held[0] = rises ? 0 : 1;
  }

  const CsvPieceParser& parser_;
  const CsvLayout& csv_;
  Piece& piece_;
  std::string_view bytes_;
  std::int64_t offset_;
  ParseState state_;  // before the row; stays as it is where rows need none
  std::vector<std::string_view> cells_;
  std::set<std::string, std::less<>> others_;  // not asked for
  CsvValues values_;
  CsvRowsAtOnce at_once_;
};

// The NUL bytes a file ends in, where space was laid out in advance.
std::size_t padding_of(std::string_view bytes) {
  const std::size_t last = bytes.find_last_not_of('\0');
  return bytes.size() - (last == std::string_view::npos ? 0 : last + 1);
}

}  // namespace

std::size_t CsvPieceParser::find_cut(std::string_view bytes,
                                     std::size_t from) const {
  const std::size_t end = bytes.find(csv_.line_end, from - 1);
  return end == std::string_view::npos ? end : end + 1;
}

Piece CsvPieceParser::parse(std::string_view bytes, std::int64_t offset,
                            ParseState entry, bool last) const {
  Piece piece;
  if (last) {
    const std::size_t padding = padding_of(bytes);
    piece.counts.padding_bytes = static_cast<std::int64_t>(padding);
    bytes.remove_suffix(padding);
  }
  RowReader reader(*this, csv_, piece, bytes, offset, std::move(entry));
  for (std::size_t at = 0; at < bytes.size();) {
    CsvLine line = line_at(bytes, at, csv_.line_end);
    at = line.next;
    line.ended = line.ended || !last;
    if (is_blank_or_comment(line.text)) continue;
    if (!reader.read(line)) break;
    at += reader.take_at_once(line);
  }
  reader.finish();
  return piece;
}

}  // namespace clockassay
