// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <string_view>

namespace clockassay {

/// Columns a terminal needs. Counts two for everything from U+1100 on that may
/// be wide: never too few for the characters printable() leaves.
std::size_t display_width(std::string_view text);

}  // namespace clockassay
