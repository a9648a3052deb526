// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <string>
#include <string_view>

namespace clockassay {

/// A name or message from outside, safe to print: printable UTF-8 stays as it
/// is. Every byte of anything else is written "\xNN": control characters,
/// direction marks, blanks and joiners that print nothing or look like another,
/// and what is not UTF-8. Nothing is left that can move the cursor, change
/// colours, reorder or hide text. Doing it twice changes nothing.
std::string printable(std::string_view text);

/// The same, of the beginning only where the text is longer than `most` bytes;
/// then its length follows: "… (3000000 bytes)".
std::string printable_beginning(std::string_view text, std::size_t most);

/// A message for JSON, which escapes control characters itself: the same bytes
/// where they are UTF-8, "\xNN" for every byte that is not.
std::string valid_utf8(std::string_view text);

/// Bytes of a file for JSON, so that they can be had back: as valid_utf8, and a
/// backslash that stands before an x and two hexadecimal digits is "\x5C".
/// Replacing every "\xNN" by its byte gives the text.
std::string lossless_utf8(std::string_view text);

}  // namespace clockassay
