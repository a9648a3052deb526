// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/capture/channel_names.h"

#include <algorithm>
#include <vector>

#include "capture/name_list.h"
#include "capture/shown_text.h"
#include "clockassay/base/nearest_name.h"

namespace clockassay {
namespace {

// What follows the last point.
std::string_view leaf_name(std::string_view name) {
  const std::size_t point = name.rfind('.');
  return point == std::string_view::npos ? name : name.substr(point + 1);
}

}  // namespace

std::string_view nearest_channel(std::span<const std::string> names,
                                 std::string_view wanted) {
  const std::string last_parts = "." + std::string(wanted);
  for (std::string_view name : names) {
    if (name.ends_with(last_parts)) return name;
  }
  const std::vector<std::string_view> known(names.begin(), names.end());
  const std::string_view whole = nearest_name(wanted, known);
  if (!whole.empty()) return whole;
  // By leaf when the user gave no scope.
  std::vector<std::string_view> leaves;
  for (std::string_view name : known) leaves.push_back(leaf_name(name));
  const std::string_view leaf = nearest_name(leaf_name(wanted), leaves);
  const auto at = std::ranges::find(leaves, leaf);
  if (leaf.empty() || at == leaves.end()) return {};
  return known[static_cast<std::size_t>(at - leaves.begin())];
}

std::string no_such_channel(std::span<const std::string> names,
                            std::string_view wanted) {
  const std::string text = "no channel " + shown_text(wanted);
  if (names.empty()) return text + ", and no other";
  const std::string_view first = nearest_channel(names, wanted);
  std::vector<std::string_view> order(names.begin(), names.end());
  std::stable_partition(
      order.begin(), order.end(),
      [first](std::string_view name) { return name == first; });
  return text + ", there are " + listed_names(order);
}

std::string did_you_mean(std::span<const std::string> names,
                         std::string_view wanted) {
  const std::string_view near = nearest_channel(names, wanted);
  if (near.empty()) return {};
  return "did you mean " + shown_text(near) + "?";
}

}  // namespace clockassay
