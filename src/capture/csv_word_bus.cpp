// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/csv_word_bus.h"

#include "capture/csv_word.h"

namespace clockassay {

BusName bus_of(const std::string& column_name, int width) {
  const std::size_t open = column_name.rfind('[');
  if (column_name.ends_with(']') && open != std::string::npos) {
    const auto range = parse_bit_range(column_name.substr(open));
    std::string name = column_name.substr(0, open);
    while (name.ends_with(' ')) name.pop_back();
    if (range && range->width() <= kMostWordBits) return {name, *range, {}};
  }
  return {column_name, {width - 1, 0}, {}};
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
