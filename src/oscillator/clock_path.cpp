// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/oscillator/clock_path.h"

#include <algorithm>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <utility>

#include "base/ascii_digit.h"
#include "clockassay/base/decimal.h"
#include "clockassay/base/number_text.h"
#include "clockassay/base/quantity_text.h"

namespace clockassay {
namespace {

// Deepest nesting of parentheses. Chosen: no clock tree needs more than two,
// and the reader calls itself once per level.
constexpr int kDeepest = 16;

// No clock that a logic analyzer is held to is faster than 1 THz or slower than
// 1 µHz, a pulse in twelve days. Chosen; beyond is a slip of the exponent.
constexpr std::int64_t kFastestHz = 1'000'000'000'000;
constexpr std::int64_t kSlowestPerHertz = 1'000'000;

bool is_of_clocks(const Rational& hz) {
  return hz <= Rational(kFastestHz) &&
         hz >= *Rational::make(1, kSlowestPerHertz);
}

constexpr std::string_view kBlanks = " \t";

std::string_view trim(std::string_view text) {
  const std::size_t first = text.find_first_not_of(kBlanks);
  if (first == std::string_view::npos) return {};
  return text.substr(first, text.find_last_not_of(kBlanks) - first + 1);
}

/// More stages than any clock tree has. Chosen: hypotheses about a path grow
/// with the square of it.
constexpr std::size_t kMostFactors = 64;

// Signs that a text processor or a manual puts for what is typed here.
struct TypesetSign {
  std::string_view sign;
  const char* typed;
};
constexpr TypesetSign kTypesetSigns[] = {{"×", "*"}, {"·", "*"}, {"⋅", "*"},
                                         {"÷", "/"}, {"∕", "/"}, {"⁄", "/"},
                                         {"−", "-"}, {"–", "-"}};

// How to type the first such sign; empty: there is none.
std::string typeset_hint(std::string_view text) {
  std::size_t first = std::string_view::npos;
  std::string hint;
  for (const TypesetSign& s : kTypesetSigns) {
    const std::size_t at = text.find(s.sign);
    if (at >= first) continue;
    first = at;
    hint = "write \"" + std::string(s.typed) + "\" for \"" +
           std::string(s.sign) + "\"";
  }
  return hint;
}

// Recursive descent over the text; `at_` is the next byte to read.
// Everything before the first error is ASCII, so byte and column agree.
class PathReader {
 public:
  explicit PathReader(std::string_view text) : text_(text) {}

  Result<ClockPath> read() {
    ClockPath path;
    path.text = std::string(trim(text_));
    const Result<Rational> source = read_source(path);
    if (!source) return tl::unexpected<Error>(source.error());
    path.source_hz = *source;
    path.frequency_hz = *source;
    while (skip_blanks(), at_ < text_.size()) {
      const std::size_t operator_at = at_;
      if (peek() != '*' && peek() != '/') {
        return refuse(at_, found() + ", expected \"*\", \"/\" or the end",
                      "only the source has a unit, factors are plain numbers");
      }
      const bool divides = peek() == '/';
      ++at_;
      if (auto read = read_factor(divides, operator_at, 0, path); !read) {
        return tl::unexpected<Error>(read.error());
      }
    }
    for (const Rational& hz : {path.source_hz, path.frequency_hz}) {
      if (!is_of_clocks(hz)) return refuse_frequency(hz);
    }
    const std::optional<Rational> back =
        divide(path.source_hz, path.frequency_hz);
    if (!back) return refuse_range(0);
    path.source_over_frequency = *back;
    return path;
  }

 private:
  char peek() const { return at_ < text_.size() ? text_[at_] : '\0'; }

  void skip_blanks() {
    while (at_ < text_.size() && (text_[at_] == ' ' || text_[at_] == '\t')) {
      ++at_;
    }
  }

  tl::unexpected<Error> refuse(std::size_t at, const std::string& why,
                               std::string hint = {}) const {
    const std::string typed = typeset_hint(text_);
    if (!typed.empty()) hint = typed;
    return failure(ErrorCode::kUsage,
                   "clock path \"" + std::string(text_) + "\", column " +
                       std::to_string(at + 1) + ": " + why,
                   std::move(hint));
  }

  tl::unexpected<Error> refuse_range(std::size_t at) const {
    return refuse(at, "the value is too large or too fine to be held exactly",
                  "numerator and denominator may have about 37 digits");
  }

  tl::unexpected<Error> refuse_frequency(const Rational& hz) const {
    constexpr int kDigits = 4;
    return refuse(0,
                  "found " + number_text(hz.to_double(), kDigits) +
                      " Hz, expected from 1 uHz to 1 THz",
                  "check unit, exponent and factors");
  }

  // What stands at the next byte; a character of several bytes is kept whole.
  std::string found() const {
    if (at_ >= text_.size()) return "found the end";
    std::size_t end = at_ + 1;
    while (end < text_.size() &&
           (static_cast<unsigned char>(text_[end]) & 0xC0U) == 0x80U) {
      ++end;
    }
    return "found \"" + std::string(text_.substr(at_, end - at_)) + "\"";
  }

  Result<Rational> read_source(ClockPath& path) {
    skip_blanks();
    if (peek() == '(') {
      return refuse(at_, found() + ", expected the frequency of the source",
                    "the source stands first, without parentheses, and all is "
                    "read from left to right: 24MHz / 2 * 4");
    }
    const std::size_t start = at_;
    const std::size_t end = std::min(text_.find_first_of("*/"), text_.size());
    const std::string_view source = trim(text_.substr(start, end - start));
    at_ = end;
    const Result<Rational> value = parse_frequency(source);
    if (!value) {
      return refuse(start, value.error().message, value.error().hint);
    }
    path.source_text = std::string(source);
    return value;
  }

  // Whether the parenthesis at the next byte holds nothing but a product, as
  // registers that are written together: each of its factors may be wrong by
  // itself. A sum is one setting, such as 40 + 3/8 or a register's 71 + 1.
  bool is_product_ahead() const {
    int depth = 0;
    for (std::size_t i = at_; i < text_.size(); ++i) {
      const char c = text_[i];
      if (c == '(') ++depth;
      if (c == ')' && --depth == 0) return true;
      const bool is_exponent =
          i > 0 && (text_[i - 1] == 'e' || text_[i - 1] == 'E');
      if (depth == 1 && (c == '+' || c == '-') && !is_exponent) return false;
    }
    return false;
  }

  // What multiplies or divides, a parenthesis of products factor by factor.
  Result<void> read_factor(bool divides, std::size_t operator_at, int depth,
                           ClockPath& path) {
    skip_blanks();
    if (peek() != '(' || depth == kDeepest || !is_product_ahead()) {
      return read_one_factor(divides, operator_at, depth, path);
    }
    ++at_;
    auto read = read_factor(divides, operator_at, depth + 1, path);
    while (read && (skip_blanks(), peek() == '*' || peek() == '/')) {
      const std::size_t inner_at = at_++;
      const bool inverts = text_[inner_at] == '/';
      read = read_factor(divides != inverts, inner_at, depth + 1, path);
    }
    if (!read) return read;
    if (peek() != ')') {
      return refuse(at_, found() + ", expected an operator or \")\"");
    }
    ++at_;
    return {};
  }

  Result<void> read_one_factor(bool divides, std::size_t operator_at, int depth,
                               ClockPath& path) {
    if (path.factors.size() == kMostFactors) {
      return refuse(operator_at, "found a further factor, expected at most " +
                                     std::to_string(kMostFactors));
    }
    PathFactor factor;
    factor.divides = divides;
    const std::size_t factor_at = at_;
    const Result<Rational> value = read_atom(depth);
    if (!value) return tl::unexpected<Error>(value.error());
    factor.value = *value;
    factor.text = std::string(text_.substr(factor_at, at_ - factor_at));
    if (factor.value.sign() <= 0) {
      return refuse(factor_at, "found a factor of " + factor.value.to_string() +
                                   ", expected more than zero");
    }
    const std::optional<Rational> frequency =
        divides ? divide(path.frequency_hz, factor.value)
                : multiply(path.frequency_hz, factor.value);
    if (!frequency) return refuse_range(operator_at);
    path.frequency_hz = *frequency;
    path.factors.push_back(std::move(factor));
    return {};
  }

  // A number or a parenthesis.
  Result<Rational> read_atom(int depth) {
    if (peek() == '(') {
      if (depth == kDeepest) {
        return refuse(at_, "found parentheses nested more than " +
                               std::to_string(kDeepest) + " deep");
      }
      ++at_;
      const Result<Rational> value = read_sum(depth + 1);
      if (!value) return value;
      if (peek() != ')') {
        return refuse(at_, found() + ", expected an operator or \")\"");
      }
      ++at_;
      return value;
    }
    return read_number();
  }

  Result<Rational> read_number() {
    const std::size_t start = at_;
    while (is_digit(peek()) || peek() == '.') ++at_;
    if (at_ == start) {
      return refuse(start, found() + ", expected a number or \"(\"");
    }
    if (peek() == 'e' || peek() == 'E') {
      ++at_;
      if (peek() == '+' || peek() == '-') ++at_;
      while (is_digit(peek())) ++at_;
    }
    const std::string_view number = text_.substr(start, at_ - start);
    const std::optional<Decimal> value = parse_decimal(number);
    if (!value) {
      return refuse(start, "cannot read \"" + std::string(number) +
                               "\" as a number that can be held exactly");
    }
    return value->value;
  }

  // Left to right: atom { operator atom } of one precedence.
  Result<Rational> read_product(int depth) {
    skip_blanks();
    Result<Rational> value = read_atom(depth);
    while (value && (skip_blanks(), peek() == '*' || peek() == '/')) {
      const std::size_t operator_at = at_++;
      skip_blanks();
      const Result<Rational> next = read_atom(depth);
      if (!next) return next;
      const bool divides = text_[operator_at] == '/';
      if (divides && next->sign() == 0) {
        return refuse(operator_at, "found a division by zero");
      }
      const std::optional<Rational> result =
          divides ? divide(*value, *next) : multiply(*value, *next);
      if (!result) return refuse_range(operator_at);
      value = *result;
    }
    return value;
  }

  Result<Rational> read_sum(int depth) {
    Result<Rational> value = read_product(depth);
    while (value && (peek() == '+' || peek() == '-')) {
      const std::size_t operator_at = at_++;
      const Result<Rational> next = read_product(depth);
      if (!next) return next;
      const std::optional<Rational> result = text_[operator_at] == '+'
                                                 ? add(*value, *next)
                                                 : subtract(*value, *next);
      if (!result) return refuse_range(operator_at);
      value = *result;
    }
    return value;
  }

  std::string_view text_;
  std::size_t at_ = 0;
};

}  // namespace

Result<ClockPath> parse_clock_path(std::string_view text) {
  return PathReader(text).read();
}

std::string clock_path_expression(const ClockPath& path) {
  std::string expression = path.source_text;
  for (const PathFactor& factor : path.factors) {
    expression += (factor.divides ? " / " : " * ") + factor.text;
  }
  return expression;
}

}  // namespace clockassay
