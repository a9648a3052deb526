// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/csv_word.h"

#include <algorithm>
#include <string>

namespace clockassay {
namespace {

bool is_unknown(char c) {
  return c == 'x' || c == 'X' || c == 'z' || c == 'Z';
}

std::optional<unsigned> digit(char c) {
  if (c >= '0' && c <= '9') return static_cast<unsigned>(c - '0');
  if (c >= 'a' && c <= 'f') return static_cast<unsigned>(c - 'a') + 10;
  if (c >= 'A' && c <= 'F') return static_cast<unsigned>(c - 'A') + 10;
  return std::nullopt;
}

std::optional<PackedWord> parse_decimal_word(std::string_view cell) {
  PackedWord word;
  if (cell.size() == 1 && is_unknown(cell[0])) {
    word.unknown = ~std::uint64_t{0};
    word.width = 1;
    return word;
  }
  for (char c : cell) {
    const auto value = digit(c);
    if (!value || *value > 9 ||
        __builtin_mul_overflow(word.bits, 10, &word.bits) ||
        __builtin_add_overflow(word.bits, *value, &word.bits)) {
      return std::nullopt;
    }
  }
  word.width = 8;
  while (word.width < kMostWordBits && word.bits >> word.width != 0)
    word.width *= 2;
  return word;
}

std::optional<PackedWord> parse_binary_word(std::string_view cell,
                                            int bits_per_digit) {
  const std::uint64_t all = (std::uint64_t{1} << bits_per_digit) - 1;
  PackedWord word;
  for (char c : cell) {
    const bool unknown = is_unknown(c);
    const auto value = unknown ? std::optional<unsigned>(0) : digit(c);
    if (!value || *value > all) return std::nullopt;
    if ((word.bits | word.unknown) >> (kMostWordBits - bits_per_digit) != 0) {
      return std::nullopt;
    }
    word.bits = word.bits << bits_per_digit | *value;
    word.unknown = word.unknown << bits_per_digit | (unknown ? all : 0);
  }
  word.width = static_cast<int>(
      std::min(cell.size() * static_cast<std::size_t>(bits_per_digit),
               static_cast<std::size_t>(kMostWordBits)));
  // Digits left out to the left of x or z are as unknown as it is.
  if (is_unknown(cell[0]) && word.width < kMostWordBits) {
    word.unknown |= ~std::uint64_t{0} << word.width;
  }
  return word;
}

}  // namespace

std::optional<int> word_prefix_radix(std::string_view cell) {
  if (cell.size() < 3 || cell[0] != '0') return std::nullopt;
  if (cell[1] == 'x' || cell[1] == 'X') return 16;
  if (cell[1] == 'b' || cell[1] == 'B') return 2;
  return std::nullopt;
}

std::optional<PackedWord> parse_word(std::string_view cell, int radix) {
  // A prefix alone is half a word, not a 0 with an unknown digit.
  if (cell == "0x" || cell == "0X") return std::nullopt;
  // In base 16 a word may begin with 0b by itself.
  const auto stated = word_prefix_radix(cell);
  if (stated && !(*stated == 2 && radix == 16)) {
    radix = *stated;
    cell.remove_prefix(2);
  }
  if (cell.empty()) return std::nullopt;
  if (radix == 10) return parse_decimal_word(cell);
  return parse_binary_word(cell, radix == 16 ? 4 : 1);
}

std::string expected_word(int radix) {
  return "a word of at most " + std::to_string(kMostWordBits) +
         " bits in base " + std::to_string(radix);
}

bool may_be_prefix_or_bits(std::string_view cell) {
  return word_prefix_radix(cell) == 16 &&
         cell.find_first_not_of("01xXzZ") == std::string_view::npos;
}

std::string no_word_hint(std::string_view cell) {
  constexpr std::string_view kDigits = "0123456789";
  if (cell.size() > 1 && cell[0] == '-' &&
      cell.find_first_not_of(kDigits, 1) == std::string_view::npos) {
    return "words have no sign; write the bits of a negative value, such as "
           "0x80 for -128 in 8 bits";
  }
  return unread_word_hint(cell);
}

std::string unread_word_hint(std::string_view cell) {
  constexpr std::string_view kHex = "0123456789abcdefABCDEF";
  constexpr std::string_view kDigits = "0123456789";
  const auto all_are = [](std::string_view text, std::string_view which) {
    return !text.empty() &&
           text.find_first_not_of(which) == std::string_view::npos;
  };
  const bool has_digit = cell.find_first_of(kDigits) != std::string_view::npos;
  const std::size_t quote = cell.find('\'');
  if (quote != std::string_view::npos &&
      all_are(cell.substr(0, quote), kDigits)) {
    return "words with their size and base in front, such as 8'b, are not "
           "read; write 0b or 0x in front instead";
  }
  if (has_digit && cell.size() > 1 &&
      (cell.back() == 'h' || cell.back() == 'H') &&
      all_are(cell.substr(0, cell.size() - 1), kHex)) {
    return "words with an h behind are not read; write 0x in front instead";
  }
  if (cell.size() > 1 && (cell[0] == '$' || cell[0] == '#') &&
      all_are(cell.substr(1), kHex)) {
    return "words with " + std::string(1, cell[0]) +
           " in front are not read; write 0x in front instead";
  }
  const std::size_t gap = cell.find_first_of(" _");
  if (gap != std::string_view::npos && gap > 1 && has_digit &&
      all_are(cell.substr(0, gap), kHex) &&
      all_are(cell, "0123456789abcdefABCDEF _")) {
    return "words with a blank or _ between their digits are not read; write "
           "the digits without a gap";
  }
  return {};
}

}  // namespace clockassay
