// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/stated_sample_rate.h"

#include <cstddef>
#include <string>

#include "base/ascii_digit.h"
#include "capture/shown_text.h"
#include "clockassay/base/letter_case.h"
#include "clockassay/base/quantity_text.h"

namespace clockassay {
namespace {

bool is_letter(char c) {
  return lower_letter(c) >= 'a' && lower_letter(c) <= 'z';
}

bool starts_with_word(std::string_view text, std::string_view word) {
  if (text.size() < word.size()) return false;
  for (std::size_t i = 0; i < word.size(); ++i) {
    if (lower_letter(text[i]) != word[i]) return false;
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
// any rate.
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

// A bare interval below this is in seconds: in us or ns it would be shorter
// than any sampler is fast. Chosen.
Rational surely_seconds() {
  return *Rational::make(1, 100'000);
}

// A bare rate from here on is in hertz; a smaller one may be in MHz. Chosen.
Rational surely_hertz() {
  return Rational(1000);
}

tl::unexpected<Error> no_unit() {
  return failure(ErrorCode::kBadData, "a number without a unit");
}

Result<Rational> read_interval(const std::string& text, bool is_bare) {
  const Result<Rational> interval = parse_time(text);
  if (!interval) return interval;
  if (is_bare && *interval >= surely_seconds()) return no_unit();
  const auto rate = divide(Rational(1), *interval);
  if (rate) return *rate;
  return failure(ErrorCode::kBadData, "an interval of no duration");
}

Result<Rational> read_rate(std::string_view quantity,
                           const Statement& statement) {
  if (quantity.size() > kMostBytes) {
    return failure(ErrorCode::kBadData, "more than a quantity");
  }
  std::string text(quantity);
  // The unit behind the words is for numbers without one.
  const bool bare = !text.empty() && is_digit(text.back());
  const std::string unit = with_hertz(statement.unit);
  if (!unit.empty()) {
    const auto known = statement.is_interval ? parse_time("1 " + unit)
                                             : parse_frequency("1 " + unit);
    if (!known) return known;  // such as "max"
    if (bare) text += " " + unit;
  }
  const bool without_unit = bare && unit.empty();
  if (statement.is_interval) return read_interval(text, without_unit);
  const Result<Rational> rate = parse_frequency(with_hertz(text));
  if (rate && without_unit && *rate < surely_hertz()) return no_unit();
  return rate;
}

// What one line of a comment states, if its first words are about sampling.
Result<std::optional<Rational>> stated_in_line(std::string_view line) {
  const std::size_t begin = line.find_first_not_of(" \t#/;*!\"'");
  if (begin == std::string_view::npos) return std::optional<Rational>();
  const auto statement = after_the_words(line.substr(begin));
  if (!statement) return std::optional<Rational>();
  std::string_view quantity = trim(statement->rest);
  if (quantity.ends_with('"'))
    quantity = trim(quantity.substr(0, quantity.size() - 1));
  const Result<Rational> rate = read_rate(quantity, *statement);
  if (rate) return std::optional<Rational>(*rate);
  // Without a sign the words may be part of any sentence.
  if (!statement->has_sign) return std::optional<Rational>();
  return failure(ErrorCode::kBadData,
                 std::string("found a comment that states the sample ") +
                     (statement->is_interval ? "interval" : "rate") + " as " +
                     shown_text(quantity) + ", expected " +
                     (statement->is_interval
                          ? "a time with its unit such as 40 ns"
                          : "a frequency with its unit such as 24 MHz") +
                     " and nothing else",
                 "state it with --sample-rate, or correct the comment or "
                 "delete it");
}

}  // namespace

Result<std::optional<Rational>> stated_sample_rate(std::string_view comment) {
  while (!comment.empty()) {
    const std::size_t end = comment.find_first_of("\r\n");
    auto stated = stated_in_line(comment.substr(0, end));
    if (!stated || *stated) return stated;
    if (end == std::string_view::npos) break;
    comment.remove_prefix(end + 1);
  }
  return std::optional<Rational>();
}

}  // namespace clockassay
