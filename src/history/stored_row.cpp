// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/history/stored_row.h"

#include <algorithm>
#include <charconv>

namespace clockassay {
namespace {

// The shortest text that gives the same double again.
std::string exact(double value) {
  char buffer[64];
  const auto end = std::to_chars(buffer, buffer + sizeof buffer, value);
  return {buffer, end.ptr};
}

template <class Kind>
std::string exact(const std::optional<Quantity<Kind>>& value) {
  return value ? exact(value->value()) : "";
}

// Lengths before texts, so that no two lists of fields make one text.
void add(const std::string& field, std::string& text) {
  text += std::to_string(field.size()) + ':' + field;
}

}  // namespace

const std::string* find_tag(const std::vector<Tag>& tags,
                            const std::string& key) {
  const auto found = std::find_if(
      tags.begin(), tags.end(), [&key](const Tag& t) { return t.key == key; });
  return found == tags.end() ? nullptr : &found->value;
}

std::string identity_text(const StoredRow& row) {
  std::string text;
  for (const std::string& field :
       {row.content, row.content.empty() ? exact(row.taken_s) : "",
        row.content.empty() ? row.capture : "", row.clock, row.channel,
        row.command, exact(row.expected), exact(row.frequency),
        exact(row.error), exact(row.expanded), exact(row.period_jitter),
        row.duty ? exact(*row.duty) : "", row.decision.value_or("")}) {
    add(field, text);
  }
  for (const Tag& tag : row.tags) {
    add(tag.key, text);
    add(tag.value, text);
  }
  return text;
}

}  // namespace clockassay
