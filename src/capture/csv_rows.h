// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string_view>
#include <utility>

#include "capture/csv_layout.h"
#include "capture/csv_values.h"
#include "clockassay/capture/importer.h"

namespace clockassay {

/// States of ParseState::mode in files whose rows need those before them
/// (CsvLayout::is_stateful); in others it stays 0.
/// In kCsvAfterRow, ParseState::time is that of the last row, and for a lone
/// column of both edges held[0] is 1 when the next one rises, else held is what
/// CsvValues::save() gives.
inline constexpr int kCsvBeforeRows = 1;
inline constexpr int kCsvAfterRow = 2;

/// Parses pieces of rows. A piece may begin at any line.
class CsvPieceParser : public PieceParser {
 public:
  explicit CsvPieceParser(CsvLayout csv) : csv_(std::move(csv)) {}
  const Layout& layout() const override { return csv_.layout; }
  bool sequential() const override { return csv_.is_stateful(); }
  Closing close(const ParseState& exit) const override {
    return close_values(csv_.values, csv_.layout.selected.size(), exit.held);
  }
  std::size_t find_cut(std::string_view bytes, std::size_t from) const override;
  Piece parse(std::string_view bytes, std::int64_t offset, ParseState entry,
              bool last) const override;
  Error time_order_error(Ticks before, Ticks next,
                         std::int64_t byte) const override;
  std::optional<Error> stamp_error(Ticks before, Ticks next,
                                   std::int64_t byte) const override;
  std::optional<MissingSamples> missing_samples(Ticks before,
                                                Ticks next) const override;

 private:
  std::int64_t least_step() const;  // [ticks]

  CsvLayout csv_;
};

}  // namespace clockassay
