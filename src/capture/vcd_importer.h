// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <memory>
#include <string_view>

#include "clockassay/capture/importer.h"

namespace clockassay {

/// Value change dump, IEEE 1364-2005 clause 18; docs/formats/vcd.md.
/// The first token is a keyword of a header; or a part of a body stands at the
/// beginning, which is recognised so as to be refused by name.
bool recognises_vcd(std::string_view prefix);

/// See Importer::read_header. The header includes the values before the first
/// stamp: the body begins with a stamp.
Result<std::unique_ptr<PieceParser>> read_vcd_header(std::string_view prefix,
                                                     bool whole,
                                                     const ReadOptions& options,
                                                     bool& needs_more);

}  // namespace clockassay
