// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/base/number_text.h"

#include <charconv>

namespace clockassay {

std::string number_text(double value, int digits) {
  char buffer[64];
  const auto end = std::to_chars(buffer, buffer + sizeof buffer, value,
                                 std::chars_format::general, digits);
  return std::string(buffer, end.ptr);
}

}  // namespace clockassay
