// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/base/nearest_name.h"

#include <algorithm>
#include <cstddef>
#include <vector>

#include "clockassay/base/letter_case.h"

namespace clockassay {
namespace {

// Longest text compared, bytes. Chosen: longer than any name of ours, so that
// hostile input costs nothing.
constexpr std::size_t kLongestText = 64;

// Letters that must agree before a beginning says anything. Chosen.
constexpr std::size_t kShortestBeginning = 3;

bool begins(std::string_view name, std::string_view text) {
  return text.size() >= kShortestBeginning && name.size() >= text.size() &&
         std::equal(text.begin(), text.end(), name.begin(), [](char a, char b) {
           return lower_letter(a) == lower_letter(b);
         });
}

// Optimal string alignment distance, by rows.
std::size_t edit_distance(std::string_view a, std::string_view b) {
  std::vector<std::size_t> before_last(b.size() + 1);
  std::vector<std::size_t> last(b.size() + 1);
  std::vector<std::size_t> row(b.size() + 1);
  for (std::size_t j = 0; j <= b.size(); ++j) row[j] = j;
  for (std::size_t i = 1; i <= a.size(); ++i) {
    before_last.swap(last);
    last.swap(row);
    row[0] = i;
    for (std::size_t j = 1; j <= b.size(); ++j) {
      const bool same = lower_letter(a[i - 1]) == lower_letter(b[j - 1]);
      row[j] = std::min(
          {last[j] + 1, row[j - 1] + 1, last[j - 1] + (same ? 0U : 1U)});
      if (i > 1 && j > 1 && lower_letter(a[i - 1]) == lower_letter(b[j - 2]) &&
          lower_letter(a[i - 2]) == lower_letter(b[j - 1])) {
        row[j] = std::min(row[j], before_last[j - 2] + 1);
      }
    }
  }
  return row[b.size()];
}

}  // namespace

std::string_view nearest_name(std::string_view text,
                              std::span<const std::string_view> known) {
  if (text.size() > kLongestText) return {};
  for (std::string_view name : known) {
    if (begins(name, text)) return name;
  }
  std::string_view nearest;
  // At least one slip is forgiven, but never all of a one-letter name.
  std::size_t limit = std::max<std::size_t>(1, text.size() / 3) + 1;
  for (std::string_view name : known) {
    const std::size_t distance = edit_distance(text, name);
    if (distance < limit && distance < text.size()) {
      limit = distance;
      nearest = name;
    }
  }
  return nearest;
}

std::string joined_names(std::span<const std::string_view> names) {
  std::string list;
  for (const std::string_view name : names) {
    if (!list.empty()) list += ", ";
    list += name;
  }
  return list;
}

}  // namespace clockassay
