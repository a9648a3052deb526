// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/vcd_vector.h"

#include <algorithm>
#include <cassert>
#include <cstddef>

#include "capture/vcd_value.h"

namespace clockassay {

std::optional<Level> vcd_port_level(char letter) {
  constexpr std::string_view kLow = "DdLl0";
  constexpr std::string_view kHigh = "UuHh1";
  constexpr std::string_view kUnknown = "NZXT?FfAaBbCc";
  if (kLow.find(letter) != kLow.npos) return Level::kLow;
  if (kHigh.find(letter) != kHigh.npos) return Level::kHigh;
  if (kUnknown.find(letter) != kUnknown.npos) return Level::kUnknown;
  return std::nullopt;
}

VcdVector::VcdVector(std::string_view digits, bool port)
    : digits_(digits), port_(port) {
  // Some writers prefix twice, as in b0b1: the second prefix is dropped.
  if (port || (!digits.starts_with("0b") && !digits.starts_with("0B"))) return;
  digits_.remove_prefix(2);
  prefixed_twice_ = true;
}

std::optional<Level> VcdVector::letter_level(char letter) const {
  return port_ ? vcd_port_level(letter) : vcd_level(letter);
}

VcdVector::Fit VcdVector::fit(std::int64_t width) const {
  Fit result;
  result.unusual = prefixed_twice_;
  const auto with = [&result](Fault fault) {
    result.fault = fault;
    return result;
  };
  const auto known = [this](char c) { return letter_level(c).has_value(); };
  if (digits_.empty() || !std::ranges::all_of(digits_, known)) {
    return with(Fault::kLetter);
  }
  const auto size = static_cast<std::int64_t>(digits_.size());
  if (size < width) {
    // A port gives a letter for each bit. What extends H is laid down nowhere.
    const bool open = digits_[0] == 'H' || digits_[0] == 'h';
    return port_ || open ? with(Fault::kTooShort) : result;
  }
  if (size == width) return result;
  // Digits too many are harmless if they say nothing: zeros, or x or z again.
  const auto extra = static_cast<std::size_t>(size - width);
  const char first = digits_[extra];
  const char filling = letter_level(first) == Level::kHigh ? '0' : first;
  const bool repeated = std::ranges::all_of(
      digits_.substr(0, extra),
      [filling](char c) { return c == '0' || c == filling; });
  result.unusual = true;
  return port_ || !repeated ? with(Fault::kTooLong) : result;
}

Level VcdVector::level(std::int64_t place) const {
  assert(!digits_.empty());
  const auto from_right = static_cast<std::size_t>(place);
  if (from_right < digits_.size()) {
    return *letter_level(digits_[digits_.size() - 1 - from_right]);
  }
  const Level first = *letter_level(digits_[0]);
  return first == Level::kHigh ? Level::kLow : first;
}

}  // namespace clockassay
