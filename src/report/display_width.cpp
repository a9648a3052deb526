// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/display_width.h"

#include "clockassay/base/utf8.h"

namespace clockassay {
namespace {

bool may_be_wide(char32_t c) {
  // From here on East Asian wide characters occur, but not among the
  // punctuation, arrows, symbols and box drawing of U+2000 to U+2BFF.
  return c >= 0x1100 && !(c >= 0x2000 && c <= 0x2BFF);
}

}  // namespace

std::size_t display_width(std::string_view text) {
  std::size_t columns = 0;
  while (!text.empty()) {
    const CodePoint c = first_code_point(text);
    columns += may_be_wide(c.value) ? 2U : 1U;
    text.remove_prefix(c.bytes);
  }
  return columns;
}

}  // namespace clockassay
