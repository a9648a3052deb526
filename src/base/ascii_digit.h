// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

namespace clockassay {

/// Whether it is one of 0 to 9, whatever the locale.
constexpr bool is_digit(char c) {
  return c >= '0' && c <= '9';
}

}  // namespace clockassay
