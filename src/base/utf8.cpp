// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/base/utf8.h"

namespace clockassay {
namespace {

// Length of a sequence by its first byte, 0 for a byte that cannot be one.
std::size_t sequence_length(unsigned char first) {
  if (first < 0x80) return 1;
  if (first >= 0xC2 && first <= 0xDF) return 2;
  if (first >= 0xE0 && first <= 0xEF) return 3;
  if (first >= 0xF0 && first <= 0xF4) return 4;
  return 0;
}

}  // namespace

CodePoint first_code_point(std::string_view text) {
  const auto byte = [&text](std::size_t i) {
    return static_cast<unsigned char>(text[i]);
  };
  const std::size_t length = sequence_length(byte(0));
  if (length == 0 || length > text.size()) return {byte(0), 1, false};
  if (length == 1) return {byte(0), 1, true};
  char32_t value = byte(0) & (0xFFu >> (length + 1));
  for (std::size_t i = 1; i < length; ++i) {
    if ((byte(i) & 0xC0u) != 0x80u) return {byte(0), 1, false};
    value = (value << 6) | (byte(i) & 0x3Fu);
  }
  constexpr char32_t kSmallest[] = {0, 0, 0x80, 0x800, 0x10000};
  const bool surrogate = value >= 0xD800 && value <= 0xDFFF;
  if (value < kSmallest[length] || surrogate || value > 0x10FFFF) {
    return {byte(0), 1, false};
  }
  return {value, length, true};
}

}  // namespace clockassay
