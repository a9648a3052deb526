// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <string_view>

namespace clockassay {

/// Blank, tab, LF, VT, FF, CR: what separates tokens, lines having no meaning.
inline bool is_vcd_blank(char c) {
  return c == ' ' || (c >= '\t' && c <= '\r');
}

/// First position at or after `at` that is not blank, or the end.
inline std::size_t skip_vcd_blanks(std::string_view bytes, std::size_t at) {
  while (at < bytes.size() && is_vcd_blank(bytes[at])) ++at;
  return at;
}

/// End of the token that begins at `at`.
inline std::size_t vcd_token_end(std::string_view bytes, std::size_t at) {
  while (at < bytes.size() && !is_vcd_blank(bytes[at])) ++at;
  return at;
}

/// Keywords that belong into a header.
bool is_vcd_header_keyword(std::string_view token);
/// Keywords of a body that hold value changes: $dumpvars, $dumpall, $dumpon,
/// $dumpoff, and those of ports: $dumpports, $dumpportsall, …
bool is_vcd_dump_keyword(std::string_view token);
/// Any keyword that only a body has: one of these, or $vcdclose.
bool is_vcd_body_keyword(std::string_view token);

}  // namespace clockassay
