// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <algorithm>
#include <string_view>

namespace clockassay {

/// A to Z as a to z, anything else as it is, whatever the locale.
constexpr char lower_letter(char c) {
  return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
}

/// Whether two texts differ in the case of letters at most.
inline bool equals_ignoring_case(std::string_view a, std::string_view b) {
  return std::equal(a.begin(), a.end(), b.begin(), b.end(), [](char x, char y) {
    return lower_letter(x) == lower_letter(y);
  });
}

}  // namespace clockassay
