// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/line_ends.h"

#include <algorithm>
#include <array>
#include <cstddef>

#include "base/simd_level.h"

namespace clockassay {
namespace {

// LFs alone: this runs over every byte of a capture.
CLOCKASSAY_KERNEL std::int64_t count_line_feeds_any(std::string_view text) {
  constexpr std::size_t kLanes = 64;
  constexpr std::size_t kMost = 255;  // that a byte counts
  std::int64_t count = 0;
  std::size_t at = 0;
  while (at + kLanes <= text.size()) {
    const std::size_t rows = std::min((text.size() - at) / kLanes, kMost);
    std::array<std::uint8_t, kLanes> counts{};
    for (const std::size_t end = at + rows * kLanes; at < end; at += kLanes) {
      for (std::size_t lane = 0; lane < kLanes; ++lane) {
        counts[lane] = static_cast<std::uint8_t>(
            counts[lane] + (text[at + lane] == '\n' ? 1 : 0));
      }
    }
    for (const std::uint8_t lane : counts) count += lane;
  }
  for (; at < text.size(); ++at) count += text[at] == '\n' ? 1 : 0;
  return count;
}

CLOCKASSAY_AT_LEVEL(std::int64_t, count_line_feeds, (std::string_view text),
                    (text))

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
