// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/shown_text.h"

#include <cstddef>

#include "clockassay/base/printable.h"
#include "clockassay/base/utf8.h"

namespace clockassay {
namespace {

// Bytes a message shows. Chosen: most of a terminal line.
constexpr std::size_t kMostShown = 60;

}  // namespace

std::string shown_text(std::string_view text) {
  std::string result = "\"";
  std::size_t shown = 0;
  while (shown < text.size()) {
    const std::string_view rest = text.substr(shown);
    const std::string_view one = rest.substr(0, first_code_point(rest).bytes);
    if (shown + one.size() > kMostShown) return result + "…\"";
    if (one == "\"" || one == "\\") result += '\\';
    result += printable(one);
    shown += one.size();
  }
  return result + '"';
}

}  // namespace clockassay
