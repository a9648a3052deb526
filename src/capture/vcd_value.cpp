// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/vcd_value.h"

#include <algorithm>
#include <cstddef>
#include <limits>

#include "base/ascii_digit.h"

namespace clockassay {
std::optional<Level> vcd_level(char letter) {
  switch (letter) {
    case '0':
    case 'L':
    case 'l':
      return Level::kLow;
    case '1':
    case 'H':
    case 'h':
      return Level::kHigh;
    case 'x':
    case 'X':
    case 'z':
    case 'Z':
    case 'u':
    case 'U':
    case 'w':
    case 'W':
    case '-':
      return Level::kUnknown;
    default:
      return std::nullopt;
  }
}

VcdStamp vcd_stamp(std::string_view digits) {
  VcdStamp stamp;
  const auto with = [&stamp](VcdStamp::Fault fault) {
    stamp.fault = fault;
    return stamp;
  };
  std::size_t i = 0;
  bool too_large = false;
  constexpr std::int64_t kMost = std::numeric_limits<std::int64_t>::max();
  for (; i < digits.size() && is_digit(digits[i]); ++i) {
    const int digit = digits[i] - '0';
    too_large = too_large || stamp.ticks > (kMost - digit) / 10;
    if (!too_large) stamp.ticks = 10 * stamp.ticks + digit;
  }
  if (i == 0) return with(VcdStamp::Fault::kNoNumber);
  if (i < digits.size()) {
    const std::string_view fraction = digits.substr(i + 1);
    if (digits[i] != '.' || fraction.empty() ||
        !std::ranges::all_of(fraction, is_digit)) {
      return with(VcdStamp::Fault::kNoNumber);
    }
    if (fraction.find_first_not_of('0') != fraction.npos) {
      return with(VcdStamp::Fault::kFraction);
    }
    stamp.unusual = true;
  }
  if (too_large) return with(VcdStamp::Fault::kTooLarge);
  return stamp;
}

}  // namespace clockassay
