// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/name_list.h"

#include <algorithm>
#include <cstddef>

#include "capture/shown_text.h"

namespace clockassay {
namespace {

// Names a message lists. Chosen: a few lines of a terminal.
constexpr std::size_t kListedNames = 8;

}  // namespace

std::string listed_names(std::span<const std::string_view> names) {
  std::string text;
  for (std::size_t i = 0; i < std::min(names.size(), kListedNames); ++i) {
    text += (i == 0 ? "" : ", ") + shown_text(names[i]);
  }
  if (names.size() > kListedNames) {
    text += " and " + std::to_string(names.size() - kListedNames) + " more";
  }
  return text;
}

}  // namespace clockassay
