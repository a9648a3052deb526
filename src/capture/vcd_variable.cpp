// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/vcd_variable.h"

#include <algorithm>
#include <utility>

namespace clockassay {
namespace {

// Widths above are all the same to us: no clock.
constexpr std::int64_t kLargestWidth = std::int64_t{1} << 32;

// The width of a $var; nullopt when it is no number.
std::optional<std::int64_t> parse_width(std::string_view text) {
  std::int64_t width = 0;
  for (const char c : text) {
    if (c < '0' || c > '9') return std::nullopt;
    width = std::min(10 * width + (c - '0'), kLargestWidth);
  }
  return width;
}

// Types that have no level, 18.2.3.8 and 18.4; others are one bit or a bus.
struct Type {
  std::string_view name;
  const char* unusable;
};
constexpr Type kTypesWithoutLevel[] = {
    {"event", "an event, which has no level"},
    {"real", "a real number"},
    {"realtime", "a real number"},
    {"real_parameter", "a real number"},
    {"string", "a string"},
    {"parameter", "a parameter, which is constant"}};

std::string unusable_because(std::string_view type, std::int64_t width) {
  for (const Type& t : kTypesWithoutLevel) {
    if (t.name == type) return t.unusable;
  }
  return width == 0 ? "a variable of no bits" : std::string();
}

// What stands in the place of the width: a number, or in a port a range.
struct Width {
  std::int64_t bits = 0;
  std::optional<BitRange> range;
};

std::optional<Width> parse_size(std::string_view text, bool port) {
  if (port && text.starts_with('[')) {
    const auto range = parse_bit_range(text);
    if (!range) return std::nullopt;
    return Width{range->width(), range};
  }
  const auto bits = parse_width(text);
  if (!bits) return std::nullopt;
  return Width{*bits, std::nullopt};
}

// Puts the width, which may be a range with blanks, into `size`; the number of
// the word behind it.
std::size_t join_size(std::span<const std::string_view> words,
                      std::string& size) {
  std::size_t i = 1;
  if (words.size() > i) size = words[i++];
  if (!size.starts_with('[')) return i;
  while (!size.ends_with(']') && i < words.size()) size += words[i++];
  return i;
}

// Where a range of several bits at the end of a name begins; npos if there is
// none. A single index such as [3] is an element, not a range.
std::size_t range_begin(std::string_view name) {
  const std::size_t open = name.rfind('[');
  if (open == name.npos || !name.ends_with(']')) return name.npos;
  return name.find(':', open) == name.npos ? name.npos : open;
}

// Turns `var` into a bus of `width` bits.
void make_bus(VcdVar& var, const Width& width) {
  const std::size_t open = range_begin(var.name);
  std::optional<BitRange> range = width.range;
  if (open != var.name.npos) {
    const auto named = parse_bit_range(std::string_view(var.name).substr(open));
    if (!named || named->width() != width.bits ||
        (range && range->first != named->first)) {
      var.unusable = "a bus of " + std::to_string(width.bits) +
                     " bits whose range says otherwise";
      return;
    }
    range = named;
    var.name.resize(open);
    while (var.name.ends_with(' ')) var.name.pop_back();
  }
  var.range_declared = range.has_value();
  var.bits = range.value_or(BitRange{width.bits - 1, 0});
}

}  // namespace

std::string joined_words(std::span<const std::string_view> words) {
  std::string text;
  for (std::size_t i = 0; i < words.size(); ++i) {
    if (i > 0 && words[i].front() != '[') text += ' ';
    text += words[i];
  }
  return text;
}

std::optional<VcdDeclaration> read_vcd_variable(
    std::span<const std::string_view> words, std::string_view path) {
  std::string size;
  const std::size_t id_word = join_size(words, size);
  if (words.size() <= id_word) return std::nullopt;
  const auto width = parse_size(size, words[0] == "port");
  if (!width) return std::nullopt;
  VcdDeclaration declared;
  declared.id = words[id_word];
  declared.width = width->bits;
  declared.nameless = words.size() == id_word + 1;
  VcdVar& var = declared.var;
  var.name = std::string(path) + joined_words(words.subspan(id_word + 1));
  var.unusable = unusable_because(words[0], width->bits);
  if (var.unusable.empty() && width->bits > 1) make_bus(var, *width);
  return declared;
}

}  // namespace clockassay
