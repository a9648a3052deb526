// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/report/printable.h"

#include <array>
#include <charconv>
#include <cstddef>

#include "report/utf8.h"

namespace clockassay {
namespace {

std::string hex(char32_t value) {
  std::array<char, 8> digits{};
  const auto end = std::to_chars(digits.data(), digits.data() + digits.size(),
                                 static_cast<std::uint32_t>(value), 16)
                       .ptr;
  std::string text(digits.data(), end);
  return text.size() < 2 ? "0" + text : text;
}

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

enum class Keep { kPrintable, kValid };

std::string escape(std::string_view text, Keep keep) {
  std::string out;
  out.reserve(text.size());
  while (!text.empty()) {
    const CodePoint c = first_code_point(text);
    const bool control = keep == Keep::kPrintable && is_control(c.value);
    if (!c.valid || control) {
      out += "\\x" + hex(c.value);
    } else if (keep == Keep::kPrintable && hides_or_moves(c.value)) {
      out += "\\u{" + hex(c.value) + "}";
    } else {
      out += text.substr(0, c.bytes);
    }
    text.remove_prefix(c.bytes);
  }
  return out;
}

}  // namespace

std::string printable(std::string_view text) {
  return escape(text, Keep::kPrintable);
}

std::string valid_utf8(std::string_view text) {
  return escape(text, Keep::kValid);
}

}  // namespace clockassay
