// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/csv_importer.h"

#include <utility>

#include "capture/csv_layout.h"
#include "capture/csv_rows.h"

namespace clockassay {

bool recognises_csv(std::string_view prefix) {
  const std::size_t at = prefix.find_first_not_of(" \t\r\n");
  return at != std::string_view::npos && prefix[at] != '$';
}

Result<std::unique_ptr<PieceParser>> read_csv_header(std::string_view prefix,
                                                     bool whole,
                                                     const ReadOptions& options,
                                                     bool& needs_more) {
  auto csv = read_csv_layout(prefix, whole, options, needs_more);
  if (!csv) return tl::unexpected<Error>(csv.error());
  return std::unique_ptr<PieceParser>(
      std::make_unique<CsvPieceParser>(*std::move(csv)));
}

}  // namespace clockassay
