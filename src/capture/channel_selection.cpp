// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/channel_selection.h"

#include <algorithm>

#include "capture/shown_text.h"
#include "clockassay/base/nearest_name.h"

namespace clockassay {
namespace {

// Names an error lists. Chosen: a few lines of a terminal.
constexpr std::size_t kListedNames = 8;

std::string listed(std::span<const std::string> names, std::string_view first) {
  std::vector<std::string_view> order(names.begin(), names.end());
  std::ranges::stable_partition(
      order, [first](std::string_view name) { return name == first; });
  std::string text;
  for (std::size_t i = 0; i < std::min(order.size(), kListedNames); ++i) {
    text += (i == 0 ? "" : ", ") + shown_text(order[i]);
  }
  if (order.size() > kListedNames) {
    text += " and " + std::to_string(order.size() - kListedNames) + " more";
  }
  return text;
}

// The nearest name, by leaf when the user gave no scope.
std::string_view nearest(std::span<const std::string> names,
                         std::string_view wanted) {
  std::vector<std::string_view> known(names.begin(), names.end());
  const std::string_view whole = nearest_name(wanted, known);
  if (!whole.empty()) return whole;
  std::vector<std::string_view> leaves;
  for (std::string_view name : known) leaves.push_back(leaf_name(name));
  const std::string_view leaf = nearest_name(leaf_name(wanted), leaves);
  const auto at = std::ranges::find(leaves, leaf);
  if (leaf.empty() || at == leaves.end()) return {};
  return known[static_cast<std::size_t>(at - leaves.begin())];
}

template <class Rule>
std::vector<std::size_t> matches(std::span<const std::string> names,
                                 std::string_view wanted, const Rule& rule) {
  std::vector<std::size_t> found;
  for (std::size_t i = 0; i < names.size(); ++i) {
    if (rule(names[i]) == wanted) found.push_back(i);
  }
  return found;
}

std::vector<std::size_t> first_rule_that_fits(
    std::span<const std::string> names, std::string_view wanted) {
  using Name = std::string_view;
  auto found = matches(names, wanted, [](Name n) { return n; });
  if (found.empty()) found = matches(names, wanted, without_select);
  if (found.empty()) found = matches(names, wanted, leaf_name);
  if (found.empty()) {
    found = matches(names, wanted,
                    [](Name n) { return leaf_name(without_select(n)); });
  }
  return found;
}

}  // namespace

std::string_view leaf_name(std::string_view name) {
  const std::size_t point = name.rfind('.');
  return point == std::string_view::npos ? name : name.substr(point + 1);
}

std::string_view without_select(std::string_view name) {
  if (!name.ends_with(']')) return name;
  const std::size_t open = name.rfind('[');
  return open == std::string_view::npos ? name : name.substr(0, open);
}

Result<std::vector<std::size_t>> select_channels(
    std::span<const std::string> names, std::span<const std::string> wanted) {
  std::vector<std::size_t> selected;
  for (const std::string& name : wanted) {
    const auto found = first_rule_that_fits(names, name);
    if (found.empty()) {
      const std::string_view near = nearest(names, name);
      return failure(ErrorCode::kBadData,
                     "found no channel " + shown_text(name) + ", there are " +
                         listed(names, near),
                     near.empty() ? "name one of these"
                                  : "did you mean " + shown_text(near) + "?");
    }
    if (found.size() > 1) {
      std::vector<std::string> several;
      for (const std::size_t i : found) several.push_back(names[i]);
      return failure(ErrorCode::kBadData,
                     "found several channels " + shown_text(name) + ": " +
                         listed(several, {}),
                     "give the full name");
    }
    selected.push_back(found.front());
  }
  std::ranges::sort(selected);
  const auto rest = std::ranges::unique(selected);
  selected.erase(rest.begin(), rest.end());
  return selected;
}

}  // namespace clockassay
