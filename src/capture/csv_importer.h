// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <memory>
#include <string_view>

#include "clockassay/base/result.h"
#include "clockassay/capture/importer.h"

namespace clockassay {

/// The CSV row of the table in importer_registry.cpp: times and levels in
/// columns. Grammar, units and limits: docs/formats/csv.md.
/// Rows are changes, samples at a constant step, or bare rising edges. Nothing
/// is guessed: what the header row does not say is refused with a hint.

/// Any text that is no VCD; what is wrong with it read_csv_header says.
bool recognises_csv(std::string_view prefix);

/// See Importer::read_header.
Result<std::unique_ptr<PieceParser>> read_csv_header(std::string_view prefix,
                                                     bool whole,
                                                     const ReadOptions& options,
                                                     bool& needs_more);

}  // namespace clockassay
