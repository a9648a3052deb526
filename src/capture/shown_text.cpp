// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/shown_text.h"

#include <cstddef>

namespace clockassay {
namespace {

// Bytes a message shows. Chosen: most of a terminal line.
constexpr std::size_t kMostShown = 60;

}  // namespace

std::string shown_text(std::string_view text) {
  constexpr char kHex[] = "0123456789ABCDEF";
  std::string result = "\"";
  for (const char c : text.substr(0, kMostShown)) {
    const auto byte = static_cast<unsigned char>(c);
    if (byte < ' ' || byte > '~') {
      result += "\\x";
      result += kHex[byte >> 4];
      result += kHex[byte & 15];
      continue;
    }
    if (c == '"' || c == '\\') result += '\\';
    result += c;
  }
  return result + (text.size() > kMostShown ? "…\"" : "\"");
}

}  // namespace clockassay
