// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <array>
#include <cstdio>
#include <string>

namespace clockassay {

/// A sentence with numbers in it, as printf formats them. In: no strings of
/// unknown length: what is beyond 639 bytes is cut off.
template <class... Numbers>
std::string formatted_text(const char* format, Numbers... numbers) {
  std::array<char, 640> buffer;
  std::snprintf(buffer.data(), buffer.size(), format, numbers...);
  return buffer.data();
}

}  // namespace clockassay
