// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/channel_selection.h"

#include <algorithm>

#include "capture/shown_text.h"
#include "clockassay/base/nearest_name.h"

namespace clockassay {
namespace {

// Names an error lists. Chosen: a few lines of a terminal.
constexpr std::size_t kListedNames = 8;

// What follows the last point.
std::string_view leaf_name(std::string_view name) {
  const std::size_t point = name.rfind('.');
  return point == std::string_view::npos ? name : name.substr(point + 1);
}

// Where a bit select at the end of the name begins; the size if there is none.
std::size_t select_begin(std::string_view name) {
  if (!name.ends_with(']')) return name.size();
  return std::min(name.rfind('['), name.size());
}

std::string_view without_select(std::string_view name) {
  name = name.substr(0, select_begin(name));
  while (name.ends_with(' ')) name.remove_suffix(1);
  return name;
}

// "clk [0]" as "clk[0]".
std::string glued(std::string_view name) {
  return std::string(without_select(name)) +
         std::string(name.substr(select_begin(name)));
}

std::string listed(std::span<const std::string> names, std::string_view first) {
  std::vector<std::string_view> order(names.begin(), names.end());
  std::stable_partition(
      order.begin(), order.end(),
      [first](std::string_view name) { return name == first; });
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

tl::unexpected<Error> refuse_several(std::span<const std::string> names,
                                     std::span<const std::size_t> found,
                                     const std::string& wanted) {
  std::vector<std::string> several;
  for (const std::size_t i : found) several.push_back(names[i]);
  const bool same = std::ranges::count(several, several.front()) ==
                    static_cast<std::ptrdiff_t>(several.size());
  return failure(ErrorCode::kUsage,
                 "found several channels " + shown_text(wanted) + ": " +
                     listed(several, {}),
                 same ? "give them names that differ" : "give the full name");
}

tl::unexpected<Error> refuse_missing(std::span<const std::string> names,
                                     const std::string& wanted) {
  const std::string_view near = nearest(names, wanted);
  return failure(ErrorCode::kBadData,
                 "found no channel " + shown_text(wanted) + ", there are " +
                     listed(names, near),
                 near.empty() ? "name one of these"
                              : "did you mean " + shown_text(near) + "?");
}

void add_once(std::vector<std::string>& list, const std::string& name) {
  if (std::ranges::find(list, name) == list.end()) list.push_back(name);
}

}  // namespace

std::vector<std::size_t> matching_channels(std::span<const std::string> names,
                                           std::string_view wanted) {
  using Name = std::string_view;
  auto found = matches(names, wanted, [](Name n) { return n; });
  if (!found.empty()) return found;
  const std::string name = glued(wanted);
  found = matches(names, name, glued);
  if (found.empty()) found = matches(names, name, without_select);
  if (found.empty()) {
    found = matches(names, name,
                    [](Name n) { return std::string(leaf_name(glued(n))); });
  }
  if (found.empty()) {
    found = matches(names, name,
                    [](Name n) { return leaf_name(without_select(n)); });
  }
  return found;
}

std::vector<std::size_t> ChannelSelection::chosen() const {
  std::vector<std::size_t> indices;
  for (std::size_t i = 0; i < asked.size(); ++i) {
    if (!asked[i].empty()) indices.push_back(i);
  }
  return indices;
}

Result<ChannelSelection> select_channels(std::span<const std::string> names,
                                         std::span<const std::string> wanted,
                                         bool skip_missing) {
  ChannelSelection selection;
  selection.asked.resize(names.size());
  for (const std::string& name : wanted) {
    const auto found = matching_channels(names, name);
    if (found.size() > 1) return refuse_several(names, found, name);
    if (found.size() == 1) {
      add_once(selection.asked[found.front()], name);
    } else if (skip_missing) {
      add_once(selection.missing, name);
    } else {
      return refuse_missing(names, name);
    }
  }
  return selection;
}

}  // namespace clockassay
