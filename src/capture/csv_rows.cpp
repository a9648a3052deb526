// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/csv_rows.h"

#include <utility>
#include <vector>

#include "capture/csv_cells.h"
#include "capture/exact_seconds.h"
#include "capture/shown_text.h"

namespace clockassay {
namespace {

// Two rising edges need a tick between them, where the store keeps the falling
// edge nobody saw.
constexpr std::int64_t kLeastEdgeStep = 2;

// The rows of one piece on their way into its channels.
class RowReader {
 public:
  RowReader(const CsvPieceParser& parser, const CsvLayout& csv, Piece& piece,
            std::string_view bytes, std::int64_t offset)
      : parser_(parser),
        csv_(csv),
        piece_(piece),
        bytes_(bytes),
        offset_(offset) {
    builders_.reserve(csv.layout.selected.size());
    for (std::size_t i = 0; i < csv.layout.selected.size(); ++i) {
      builders_.emplace_back(piece.arena);
    }
  }

  // False: an error was found and the rest does not count.
  bool read(const CsvLine& line) {
    split_row(line.text, csv_, cells_);
    if (!line.ended && is_cut_off()) {
      piece_.counts.truncated_end = true;
      return true;
    }
    if (cells_.size() != csv_.columns.cells()) return refuse_count(line);
    const auto stamp = parse_stamp(cells_[0], csv_.decimal_mark);
    if (!stamp) return refuse_stamp(line);
    const auto ticks =
        stamp_ticks(*stamp, csv_.tick_exponent - csv_.columns.unit_exponent);
    if (!ticks) return refuse_place(*stamp);
    return take_time(Ticks(*ticks), *stamp) && take_levels(Ticks(*ticks));
  }

  void finish() {
    for (PieceChannelBuilder& builder : builders_) {
      piece_.channels.push_back(builder.finish());
    }
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
  bool is_cut_off() const {
    if (cells_.size() < csv_.columns.cells()) return true;
    if (!csv_.columns.rising_only) {
      // A last column that is not read says nothing about those before it.
      return csv_.slots.back() >= 0 && !parse_level(cells_.back());
    }
    const auto stamp = parse_stamp(cells_[0], csv_.decimal_mark);
    return !stamp || !csv_.fixed_decimals || *csv_.fixed_decimals == 0 ||
           stamp->last_place != -*csv_.fixed_decimals;
  }

  bool refuse_count(const CsvLine& line) {
    const std::int64_t byte = byte_of(line.text);
    if (trim_cell(line.text) == csv_.header) return refuse_header(byte);
    const std::size_t expected = csv_.columns.cells();
    const bool whole_number =
        cells_[0].find_first_not_of("0123456789-+") == std::string_view::npos;
    std::string hint = "complete the row or delete it";
    if (csv_.separator == ',' && cells_.size() == expected + 1 &&
        whole_number) {
      hint = "a decimal comma needs a semicolon or a tab between the columns";
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

  bool refuse_stamp(const CsvLine& line) {
    const std::int64_t byte = byte_of(cells_[0]);
    if (trim_cell(line.text) == csv_.header) return refuse_header(byte);
    return refuse(byte,
                  "found " + shown_text(cells_[0]) +
                      " in the time column, expected a decimal number",
                  stamp_hint(cells_[0]));
  }

  // The number is fine but cannot be held in ticks.
  bool refuse_place(const StampText& stamp) {
    const int place = stamp.last_nonzero_place() + csv_.columns.unit_exponent;
    const std::int64_t byte = byte_of(cells_[0]);
    if (place < csv_.tick_exponent) {
      return refuse(byte,
                    "found the time " + shown_text(cells_[0]) +
                        " with digits below " +
                        exact_seconds(Ticks(1), csv_.layout.grid.tick_s) +
                        " s, expected none, as in the first rows",
                    "write all times with the same number of decimals");
    }
    return refuse(
        byte,
        "found the time " + shown_text(cells_[0]) + ", expected at most " +
            exact_seconds(Ticks(kMostTicks), csv_.layout.grid.tick_s) + " s",
        "write the times with fewer decimals, or from a later "
        "origin");
  }

  bool take_time(Ticks time, const StampText& stamp) {
    const std::int64_t byte = byte_of(cells_[0]);
    if (piece_.has_time) {
      piece_.error = parser_.stamp_error(piece_.last_time, time, byte);
      if (piece_.error) return false;
    } else {
      piece_.has_time = true;
      piece_.first_time = time;
      piece_.first_time_byte = byte;
    }
    piece_.last_time = time;
    const int shift = csv_.columns.unit_exponent - csv_.tick_exponent;
    const std::optional<int> first =
        stamp.digits == 0 ? std::nullopt
                          : std::optional<int>(stamp.first_place() + shift);
    piece_.stamp_digits.add(first, stamp.last_place + shift);
    return true;
  }

  bool take_levels(Ticks time) {
    if (csv_.columns.rising_only) {
      if (!builders_.empty()) {
        // Low for the tick before, so that every row is a rising edge and no
        // row must wait for the next one.
        builders_[0].add(time - Ticks(1), Level::kLow);
        builders_[0].add(time, Level::kHigh);
      }
      return true;
    }
    for (std::size_t i = 1; i < cells_.size(); ++i) {
      const int slot = csv_.slots[i - 1];
      if (slot < 0) continue;
      const auto level = parse_level(cells_[i]);
      if (!level) return refuse_level(i);
      if (*level == CellLevel::kUnchanged) continue;
      builders_[static_cast<std::size_t>(slot)].add(
          time, *level == CellLevel::kHigh  ? Level::kHigh
                : *level == CellLevel::kLow ? Level::kLow
                                            : Level::kUnknown);
    }
    return true;
  }

  bool refuse_level(std::size_t column) {
    return refuse(byte_of(cells_[column]),
                  "found " + shown_text(cells_[column]) + " in the column " +
                      shown_text(csv_.columns.levels[column - 1]) +
                      ", expected a level: 0, 1, low, high, L, H, false, true, "
                      "x, z or nothing",
                  level_hint(cells_[column]));
  }

  const CsvPieceParser& parser_;
  const CsvLayout& csv_;
  Piece& piece_;
  std::string_view bytes_;
  std::int64_t offset_;
  std::vector<std::string_view> cells_;
  std::vector<PieceChannelBuilder> builders_;
};

}  // namespace

std::size_t CsvPieceParser::find_cut(std::string_view bytes,
                                     std::size_t from) const {
  const std::size_t end = bytes.find('\n', from - 1);
  return end == std::string_view::npos ? end : end + 1;
}

Piece CsvPieceParser::parse(std::string_view bytes, std::int64_t offset,
                            ParseState entry, bool last) const {
  (void)entry;  // every row stands for itself
  Piece piece;
  RowReader reader(*this, csv_, piece, bytes, offset);
  for (std::size_t at = 0; at < bytes.size();) {
    const CsvLine line = line_at(bytes, at);
    const CsvLine row{line.text, line.begin, line.ended || !last};
    if (!is_blank_or_comment(row.text) && !reader.read(row)) break;
    at = next_line(bytes, line);
  }
  reader.finish();
  return piece;
}

Error CsvPieceParser::time_order_error(Ticks before, Ticks next,
                                       std::int64_t byte) const {
  Error error{ErrorCode::kBadData,
              "found the time " + exact_seconds(next, csv_.layout.grid.tick_s) +
                  " s after " + exact_seconds(before, csv_.layout.grid.tick_s) +
                  " s, expected times that do not decrease",
              "export the rows in the order of time; a counter that wraps is "
              "not read"};
  error.byte = byte;
  return error;
}

std::optional<Error> CsvPieceParser::stamp_error(Ticks before, Ticks next,
                                                 std::int64_t byte) const {
  if (next < before) return time_order_error(before, next, byte);
  const std::int64_t step = (next - before).count();
  const bool too_close = csv_.columns.rising_only && step < kLeastEdgeStep;
  const bool uneven = csv_.row_step && step != *csv_.row_step;
  if (!too_close && !uneven) return std::nullopt;
  const auto seconds = [this](Ticks ticks) {
    return exact_seconds(ticks, csv_.layout.grid.tick_s) + " s";
  };
  const std::string both = "from " + seconds(before) + " to " + seconds(next);
  Error error{ErrorCode::kBadData, {}};
  error.byte = byte;
  if (too_close) {
    error.message = "found rising edges " + both + ", expected at least " +
                    seconds(Ticks(kLeastEdgeStep)) + " between two";
    error.hint = "write the times with more decimals";
  } else {
    error.message = "found a step of " + seconds(Ticks(step)) + " " + both +
                    ", expected " + seconds(Ticks(*csv_.row_step)) +
                    " as between the first rows, which are samples";
    error.hint = "samples are missing here; split the file at the gap";
  }
  return error;
}

}  // namespace clockassay
