// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/line_ends.h"

#include <bit>
#include <cstddef>
#include <cstring>

namespace clockassay {
namespace {

// LFs alone, eight bytes at a time: this runs over every byte of a capture.
std::int64_t count_line_feeds(std::string_view text) {
  constexpr std::uint64_t kLow7 = 0x7F7F7F7F7F7F7F7FU;
  constexpr std::uint64_t kFeeds = 0x0A0A0A0A0A0A0A0AU;
  std::int64_t count = 0;
  std::size_t i = 0;
  for (; i + 8 <= text.size(); i += 8) {
    std::uint64_t word;
    std::memcpy(&word, text.data() + i, 8);
    word ^= kFeeds;  // the bytes that were LF are now 0
    const std::uint64_t not_zero = ((word & kLow7) + kLow7) | word;
    count += std::popcount(~(not_zero | kLow7));
  }
  for (; i < text.size(); ++i) count += text[i] == '\n' ? 1 : 0;
  return count;
}

}  // namespace

std::int64_t count_line_ends(std::string_view text) {
  std::int64_t count = count_line_feeds(text);
  for (std::size_t i = text.find('\r'); i != std::string_view::npos;
       i = text.find('\r', i + 1)) {
    if (i + 1 == text.size() || text[i + 1] != '\n') ++count;
  }
  return count;
}

std::string stated_in_line(std::string_view text, std::size_t byte) {
  return "stated in line " +
         std::to_string(1 + count_line_ends(text.substr(0, byte)));
}

}  // namespace clockassay
