// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/vcd_channels.h"

#include <algorithm>
#include <map>
#include <set>
#include <span>
#include <utility>

#include "capture/channel_selection.h"
#include "capture/shown_text.h"

namespace clockassay {
namespace {

// A one-bit variable under the name by which it can be asked for.
struct Candidate {
  std::string name;
  std::size_t id;
  bool several = false;  // other nets have the same name
};

// One candidate per name and net. A name that several nets have gets a number.
std::vector<Candidate> candidates(const VcdHeader& header) {
  std::vector<Candidate> found;
  std::map<std::string, std::vector<std::size_t>> by_name;  // indices in found
  for (const VcdVar& var : header.vars) {
    if (!var.unusable.empty()) continue;
    auto& same = by_name[var.name];
    const bool declared_before = std::ranges::any_of(
        same, [&](std::size_t i) { return found[i].id == var.id; });
    if (declared_before) continue;
    same.push_back(found.size());
    found.push_back({var.name, var.id});
  }
  for (const auto& [name, same] : by_name) {
    if (same.size() == 1) continue;
    for (std::size_t i = 0; i < same.size(); ++i) {
      found[same[i]].several = true;
      if (i > 0) found[same[i]].name += " (" + std::to_string(i + 1) + ")";
    }
  }
  return found;
}

tl::unexpected<Error> nothing_usable(const VcdHeader& header) {
  Error error{ErrorCode::kBadData,
              "found no $var in the header, expected at least one",
              "dump the clock's signal as well"};
  if (!header.vars.empty()) {
    const VcdVar& first = header.vars.front();
    error.message = "found no variable of one bit, expected at least one; " +
                    shown_text(first.name) + " is " + first.unusable;
    error.hint = "dump the clock as a signal of its own";
  }
  error.byte = static_cast<std::int64_t>(header.end);
  return tl::unexpected<Error>(std::move(error));
}

// Whether one of `wanted` names something that there is but cannot be a clock.
std::optional<Error> refuse_unusable(const VcdHeader& header,
                                     std::span<const std::string> names,
                                     std::span<const std::string> wanted) {
  std::vector<const VcdVar*> unusable;
  std::vector<std::string> unusable_names;
  for (const VcdVar& var : header.vars) {
    if (var.unusable.empty()) continue;
    unusable.push_back(&var);
    unusable_names.push_back(var.name);
  }
  for (const std::string& name : wanted) {
    if (!matching_channels(names, name).empty()) continue;
    const auto found = matching_channels(unusable_names, name);
    if (found.empty()) continue;
    const VcdVar& var = *unusable[found.front()];
    return Error{ErrorCode::kBadData,
                 "found channel " + shown_text(var.name) + " to be " +
                     var.unusable + ", expected a variable of one bit",
                 "dump the clock as a signal of its own"};
  }
  return std::nullopt;
}

// When nothing is asked for: each net by its first name.
std::vector<std::size_t> one_per_net(const std::vector<Candidate>& all) {
  std::vector<std::size_t> chosen;
  std::set<std::size_t> seen;
  for (std::size_t i = 0; i < all.size(); ++i) {
    if (seen.insert(all[i].id).second) chosen.push_back(i);
  }
  return chosen;
}

}  // namespace

Result<VcdChannels> choose_vcd_channels(const VcdHeader& header,
                                        const ReadOptions& options) {
  const std::vector<Candidate> all = candidates(header);
  if (all.empty()) return nothing_usable(header);
  VcdChannels channels;
  for (const Candidate& c : all) channels.names.push_back(c.name);
  if (auto error = refuse_unusable(header, channels.names, options.channels)) {
    return tl::unexpected<Error>(std::move(*error));
  }
  auto selection = select_channels(channels.names, options.channels,
                                   options.skip_missing_channels);
  if (!selection) return tl::unexpected(selection.error());
  channels.missing = std::move(selection->missing);
  channels.nets.ids = header.ids;
  channels.nets.net_of_id.assign(header.ids.size(), -1);
  for (const std::size_t i :
       options.channels.empty() ? one_per_net(all) : selection->chosen()) {
    std::int32_t& net = channels.nets.net_of_id[all[i].id];
    if (net < 0) {
      net = static_cast<std::int32_t>(channels.nets.names.size());
      channels.nets.names.push_back(all[i].name);
    }
    channels.selected.push_back({all[i].name, std::move(selection->asked[i])});
    channels.net.push_back(static_cast<std::size_t>(net));
    if (all[i].several) {
      channels.warnings.push_back(
          {WarningCode::kDuplicateNames,
           "several signals have the name of " + shown_text(all[i].name) +
               "; make sure that it is the one you mean"});
    }
  }
  return channels;
}

}  // namespace clockassay
