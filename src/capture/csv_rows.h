// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string_view>

#include "capture/csv_layout.h"
#include "clockassay/capture/importer.h"

namespace clockassay {

/// Parses pieces of rows. A piece may begin at any line: a row needs nothing
/// from the rows before it but a time not before theirs.
class CsvPieceParser : public PieceParser {
 public:
  explicit CsvPieceParser(CsvLayout csv) : csv_(std::move(csv)) {}
  const Layout& layout() const override { return csv_.layout; }
  std::size_t find_cut(std::string_view bytes, std::size_t from) const override;
  Piece parse(std::string_view bytes, std::int64_t offset, ParseState entry,
              bool last) const override;
  Error time_order_error(Ticks before, Ticks next,
                         std::int64_t byte) const override;
  std::optional<Error> stamp_error(Ticks before, Ticks next,
                                   std::int64_t byte) const override;

 private:
  CsvLayout csv_;
};

}  // namespace clockassay
