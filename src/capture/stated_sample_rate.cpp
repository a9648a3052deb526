// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/stated_sample_rate.h"

#include <cstddef>
#include <string>

#include "capture/shown_text.h"
#include "clockassay/base/quantity_text.h"

namespace clockassay {
namespace {

char lower(char c) {
  return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
}

bool starts_with_word(std::string_view text, std::string_view word) {
  if (text.size() < word.size()) return false;
  for (std::size_t i = 0; i < word.size(); ++i) {
    if (lower(text[i]) != word[i]) return false;
  }
  return true;
}

bool is_blank(char c) {
  return c == ' ' || c == '\t' || c == '\r' || c == '\n';
}

std::string_view trim(std::string_view text) {
  while (!text.empty() && is_blank(text.front())) text.remove_prefix(1);
  while (!text.empty() && is_blank(text.back())) text.remove_suffix(1);
  return text;
}

// What follows "sample rate:" at the front of `text`, or nullopt.
std::optional<std::string_view> after_the_words(std::string_view text) {
  if (!starts_with_word(text, "sample")) return std::nullopt;
  text.remove_prefix(6);
  if (!text.empty() && (text[0] == ' ' || text[0] == '_' || text[0] == '-')) {
    text.remove_prefix(1);
  }
  if (!starts_with_word(text, "rate")) return std::nullopt;
  text = trim(text.substr(4));
  if (text.empty() || (text[0] != ':' && text[0] != '=')) return std::nullopt;
  return text.substr(1);
}

// "24 MS/s" as "24 MHz": parse_frequency knows hertz only.
std::string with_hertz(std::string_view quantity) {
  for (std::string_view unit : {"Sa/s", "S/s", "sps", "Sps"}) {
    if (quantity.ends_with(unit)) {
      quantity.remove_suffix(unit.size());
      return std::string(quantity) + "Hz";
    }
  }
  return std::string(quantity);
}

// Where the quantity at the front of `text` ends. A comma between digits does
// not end it: 24,000 kHz is not 24 Hz.
std::size_t quantity_length(std::string_view text) {
  const auto is_digit = [](char c) { return c >= '0' && c <= '9'; };
  std::size_t at = text.find_first_of("\r\n,;");
  while (at != std::string_view::npos && text[at] == ',' && at > 0 &&
         at + 1 < text.size() && is_digit(text[at - 1]) &&
         is_digit(text[at + 1])) {
    at = text.find_first_of("\r\n,;", at + 1);
  }
  return at;
}

}  // namespace

Result<std::optional<Rational>> stated_sample_rate(std::string_view comment) {
  for (std::size_t i = 0; i < comment.size(); ++i) {
    const auto rest = after_the_words(comment.substr(i));
    if (!rest) continue;
    const std::string_view quantity =
        trim(rest->substr(0, quantity_length(*rest)));
    const Result<Rational> rate = parse_frequency(with_hertz(quantity));
    if (rate) return std::optional<Rational>(*rate);
    return failure(ErrorCode::kBadData,
                   "found a comment that states the sample rate as " +
                       shown_text(quantity) +
                       ", expected a frequency such as 24 MHz",
                   "correct the comment or delete it");
  }
  return std::optional<Rational>();
}

}  // namespace clockassay
