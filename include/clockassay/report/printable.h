// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <string_view>

namespace clockassay {

/// A name or message from outside, safe to print: valid UTF-8 in which nothing
/// can move the cursor, change colours, reorder or hide text. Every byte that
/// is not UTF-8, and every control character, is written "\xNN"; every
/// formatting character (direction marks, zero-width and odd blanks)
/// "\u{NNNN}".
std::string printable(std::string_view text);

/// The same bytes where they are UTF-8, "\xNN" for every byte that is not.
/// For JSON, which escapes control characters itself.
std::string valid_utf8(std::string_view text);

}  // namespace clockassay
