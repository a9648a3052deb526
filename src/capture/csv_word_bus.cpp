// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/csv_word_bus.h"

#include <optional>
#include <utility>

#include "capture/csv_word.h"

namespace clockassay {

namespace {

// Where the range begins that the name ends in, in any kind of brackets.
std::size_t range_begin(std::string_view name) {
  if (name.ends_with(']')) return name.rfind('[');
  if (name.ends_with(')')) return name.rfind('(');
  if (name.ends_with('>')) return name.rfind('<');
  return std::string_view::npos;
}

// "[7:0]", "[7..0]", "(7 downto 0)", "<0:7>".
std::optional<BitRange> any_range(std::string_view text) {
  std::string inner(text.substr(1, text.size() - 2));
  for (std::string_view between : {"..", " downto ", " to "}) {
    const std::size_t at = inner.find(between);
    if (at != std::string::npos) inner.replace(at, between.size(), 1, ':');
  }
  inner.insert(0, 1, '[');
  return parse_bit_range(inner + ']');
}

// That at the end of the name, of as many bits as a word may have.
std::optional<BitRange> range_of(std::string_view name) {
  const std::size_t open = range_begin(name);
  if (open == std::string_view::npos) return std::nullopt;
  const auto range = any_range(name.substr(open));
  return range && range->width() <= kMostWordBits ? range : std::nullopt;
}

}  // namespace

BusName bus_of(const std::string& column_name, int width) {
  const auto range = range_of(column_name);
  if (!range) return {column_name, {width - 1, 0}, {}};
  std::string name = column_name.substr(0, range_begin(column_name));
  while (name.ends_with(' ')) name.pop_back();
  return {std::move(name), *range, {}};
}

std::optional<int> declared_width(std::string_view column_name) {
  const auto range = range_of(column_name);
  if (!range) return std::nullopt;
  return static_cast<int>(range->width());
}

std::string name_before_index(std::string_view wanted) {
  const std::size_t open = wanted.rfind('[');
  if (!wanted.ends_with(']') || open == std::string_view::npos) return {};
  const std::string_view index =
      wanted.substr(open + 1, wanted.size() - open - 2);
  if (index.empty() ||
      index.find_first_not_of("0123456789") != std::string_view::npos) {
    return {};
  }
  wanted = wanted.substr(0, open);
  while (wanted.ends_with(' ')) wanted.remove_suffix(1);
  return std::string(wanted);
}

}  // namespace clockassay
