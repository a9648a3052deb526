// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/base/printable.h"

#include "clockassay/base/utf8.h"

namespace clockassay {
namespace {

bool is_control(char32_t c) {
  return c < 0x20 || (c >= 0x7F && c < 0xA0);
}

// Characters that print nothing, or change how others are laid out: blanks
// other than the space, soft hyphen, direction and joining marks, separators,
// variation selectors, tags, private use and non-characters at the end.
bool hides_or_moves(char32_t c) {
  struct Range {
    char32_t first, last;
  };
  constexpr Range kRanges[] = {
      {0xA0, 0xA0},     {0xAD, 0xAD},     {0x61C, 0x61C},     {0x115F, 0x1160},
      {0x1680, 0x1680}, {0x17B4, 0x17B5}, {0x180B, 0x180F},   {0x2000, 0x200F},
      {0x2028, 0x202F}, {0x205F, 0x206F}, {0x3000, 0x3000},   {0x3164, 0x3164},
      {0xE000, 0xF8FF}, {0xFE00, 0xFE0F}, {0xFEFF, 0xFEFF},   {0xFFA0, 0xFFA0},
      {0xFFF0, 0xFFFB}, {0xFFFE, 0xFFFF}, {0xE0000, 0x10FFFF}};
  for (const Range& r : kRanges) {
    if (c >= r.first && c <= r.last) return true;
  }
  return false;
}

void append_escaped(std::string& out, std::string_view bytes) {
  constexpr char kHex[] = "0123456789ABCDEF";
  for (const char c : bytes) {
    const auto byte = static_cast<unsigned char>(c);
    out += "\\x";
    out += kHex[byte >> 4];
    out += kHex[byte & 15];
  }
}

// Escapes every character that `is_kept` does not want, and every stray byte.
template <class IsKept>
std::string escape(std::string_view text, IsKept is_kept) {
  std::string out;
  out.reserve(text.size());
  while (!text.empty()) {
    const CodePoint c = first_code_point(text);
    const std::string_view bytes = text.substr(0, c.bytes);
    if (c.valid && is_kept(c.value, text)) {
      out += bytes;
    } else {
      append_escaped(out, bytes);
    }
    text.remove_prefix(c.bytes);
  }
  return out;
}

bool is_hex(char c) {
  return (c >= '0' && c <= '9') || (c >= 'a' && c <= 'f') ||
         (c >= 'A' && c <= 'F');
}

bool begins_like_an_escape(std::string_view text) {
  return text.size() >= 4 && text[0] == '\\' && text[1] == 'x' &&
         is_hex(text[2]) && is_hex(text[3]);
}

}  // namespace

std::string printable(std::string_view text) {
  return escape(text, [](char32_t c, std::string_view) {
    return !is_control(c) && !hides_or_moves(c);
  });
}

std::string printable_beginning(std::string_view text, std::size_t most) {
  if (text.size() <= most) return printable(text);
  std::size_t kept = 0;
  while (true) {
    const std::size_t next = kept + first_code_point(text.substr(kept)).bytes;
    if (next > most) break;
    kept = next;
  }
  return printable(text.substr(0, kept)) + "… (" + std::to_string(text.size()) +
         " bytes)";
}

std::string valid_utf8(std::string_view text) {
  return escape(text, [](char32_t, std::string_view) { return true; });
}

std::string lossless_utf8(std::string_view text) {
  return escape(text, [](char32_t, std::string_view rest) {
    return !begins_like_an_escape(rest);
  });
}

}  // namespace clockassay
