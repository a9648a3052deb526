// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/stated_sample_rate.h"

#include <cstddef>
#include <string>

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

}  // namespace

Result<std::optional<Rational>> stated_sample_rate(std::string_view comment) {
  for (std::size_t i = 0; i < comment.size(); ++i) {
    const auto rest = after_the_words(comment.substr(i));
    if (!rest) continue;
    const std::string_view quantity =
        trim(rest->substr(0, rest->find_first_of("\r\n,;")));
    const Result<Rational> rate = parse_frequency(with_hertz(quantity));
    if (rate) return std::optional<Rational>(*rate);
    return failure(ErrorCode::kBadData,
                   "found a comment that states the sample rate as \"" +
                       std::string(quantity) +
                       "\", expected a frequency such as 24 MHz",
                   "correct the comment or delete it");
  }
  return std::optional<Rational>();
}

}  // namespace clockassay
