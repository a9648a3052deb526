// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "clockassay/base/result.h"

namespace clockassay {

/// What is wrong with the last cell a line was split into.
enum class CellFault { kNone, kQuoteNotClosed, kTextAfterQuote };

/// The cells of a line: trimmed, and without the quotes around them; what is
/// within quotes is left as it is. `separator` ' ' stands for runs of blanks
/// and tabs. At a fault the last cell is what is faulty, and the rest of the
/// line was not looked at.
CellFault split_cells(std::string_view line, char separator,
                      std::vector<std::string_view>& cells);

/// The text of a cell: a doubled quote within quotes means one.
std::string plain_cell(std::string_view cell);

/// What to say about a fault; the caller adds the place.
Error fault_error(CellFault fault, std::string_view cell);

/// "comma", "semicolon", … as --separator takes it.
const char* separator_name(char separator);

}  // namespace clockassay
