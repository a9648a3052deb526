// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <string_view>

namespace clockassay {

/// One character at the front of a text.
struct CodePoint {
  char32_t value = 0;
  std::size_t bytes = 1;  ///< how many it takes
  bool valid = false;     ///< false: a stray byte, not UTF-8
};

/// Decodes strictly (no overlong forms, no surrogates); `text` is not empty.
CodePoint first_code_point(std::string_view text);

}  // namespace clockassay
