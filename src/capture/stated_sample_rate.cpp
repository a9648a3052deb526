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

bool is_letter(char c) {
  return lower(c) >= 'a' && lower(c) <= 'z';
}

bool is_digit(char c) {
  return c >= '0' && c <= '9';
}

bool starts_with_word(std::string_view text, std::string_view word) {
  if (text.size() < word.size()) return false;
  for (std::size_t i = 0; i < word.size(); ++i) {
    if (lower(text[i]) != word[i]) return false;
  }
  return true;
}

// The first of the words at the front of `text`, which is then taken off.
template <std::size_t N>
std::string_view take_word(std::string_view& text,
                           const std::string_view (&words)[N]) {
  for (const std::string_view word : words) {
    if (!starts_with_word(text, word)) continue;
    text.remove_prefix(word.size());
    return word;
  }
  return {};
}

bool is_blank(char c) {
  return c == ' ' || c == '\t' || c == '\r' || c == '\n';
}

std::string_view trim(std::string_view text) {
  while (!text.empty() && is_blank(text.front())) text.remove_prefix(1);
  while (!text.empty() && is_blank(text.back())) text.remove_suffix(1);
  return text;
}

std::string_view without_leading_blanks(std::string_view text) {
  std::size_t begin = 0;
  while (begin < text.size() && is_blank(text[begin])) ++begin;
  return text.substr(begin);
}

// Most bytes of a quantity, and of the brackets of a unit. Chosen: far above
// any rate; without a bound, a long comment that keeps saying "sample rate"
// would be searched to its end each time.
constexpr std::size_t kMostBytes = 64;

// The longer word first where one begins like another.
constexpr std::string_view kSampling[] = {"sampling", "samples", "sample"};
constexpr std::string_view kQuantities[] = {"rate", "frequency", "freq",
                                            "interval", "period"};

// What follows words such as "sample rate:".
struct Statement {
  std::string_view rest;
  std::string_view unit;     // written behind the words, in brackets
  bool is_interval = false;  // of time, not a rate
  bool has_sign = false;  // a colon or an equals sign: a quantity must follow
};

std::optional<Statement> after_the_words(std::string_view text) {
  if (take_word(text, kSampling).empty()) return std::nullopt;
  if (!text.empty() && (text[0] == ' ' || text[0] == '_' || text[0] == '-')) {
    text.remove_prefix(1);
  }
  const std::string_view quantity = take_word(text, kQuantities);
  if (quantity.empty() || (!text.empty() && is_letter(text[0]))) {
    return std::nullopt;
  }
  Statement statement;
  statement.is_interval = quantity == "interval" || quantity == "period";
  text = without_leading_blanks(text);
  if (!text.empty() && (text[0] == '(' || text[0] == '[')) {
    const std::size_t close =
        text.substr(0, kMostBytes).find(text[0] == '(' ? ')' : ']');
    if (close == std::string_view::npos) return std::nullopt;
    statement.unit = trim(text.substr(1, close - 1));
    text = without_leading_blanks(text.substr(close + 1));
  }
  statement.has_sign = !text.empty() && (text[0] == ':' || text[0] == '=');
  if (statement.has_sign) text.remove_prefix(1);
  statement.rest = text;
  return statement;
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

// Whether the quantity ends before text[at]. A comma between digits does not
// end it: 24,000 kHz is not 24 Hz.
bool is_end(std::string_view text, std::size_t at) {
  if (at == text.size()) return true;
  const char c = text[at];
  if (c != ',') return c == '\r' || c == '\n' || c == ';';
  return at == 0 || at + 1 == text.size() || !is_digit(text[at - 1]) ||
         !is_digit(text[at + 1]);
}

// The text at the front that stands for a quantity.
struct StatedText {
  std::string_view text;
  bool whole = true;  // not longer than one can be
};

StatedText quantity_at(std::string_view text) {
  std::size_t begin = 0;
  while (!is_end(text, begin) && is_blank(text[begin])) ++begin;
  text.remove_prefix(begin);
  std::size_t end = 0;
  while (end < kMostBytes && !is_end(text, end)) ++end;
  // A line may be padded with blanks.
  std::size_t next = end;
  while (!is_end(text, next) && is_blank(text[next])) ++next;
  return {trim(text.substr(0, end)), is_end(text, next)};
}

Result<Rational> read_rate(std::string_view quantity,
                           const Statement& statement) {
  std::string text(quantity);
  // The unit of the name is for numbers without one.
  if (!text.empty() && is_digit(text.back())) {
    text += " " + std::string(statement.unit);
  }
  if (!statement.is_interval) return parse_frequency(with_hertz(text));
  const Result<Rational> interval = parse_time(trim(text));
  if (!interval) return interval;
  const auto rate = divide(Rational(1), *interval);
  if (rate) return *rate;
  return failure(ErrorCode::kBadData, "an interval of no duration");
}

}  // namespace

Result<std::optional<Rational>> stated_sample_rate(std::string_view comment) {
  for (std::size_t i = 0; i < comment.size(); ++i) {
    if (i > 0 && is_letter(comment[i - 1])) continue;
    const auto statement = after_the_words(comment.substr(i));
    if (!statement) continue;
    const StatedText quantity = quantity_at(statement->rest);
    if (quantity.whole) {
      const Result<Rational> rate = read_rate(quantity.text, *statement);
      if (rate) return std::optional<Rational>(*rate);
    }
    // Without a sign the words may be part of any sentence.
    if (!statement->has_sign) continue;
    return failure(ErrorCode::kBadData,
                   std::string("found a comment that states the sample ") +
                       (statement->is_interval ? "interval" : "rate") + " as " +
                       shown_text(quantity.text) + ", expected " +
                       (statement->is_interval ? "a time such as 40 ns"
                                               : "a frequency such as 24 MHz"),
                   "correct the comment or delete it");
  }
  return std::optional<Rational>();
}

}  // namespace clockassay
