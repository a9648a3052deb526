// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/channel_selection.h"

#include <algorithm>
#include <charconv>
#include <map>
#include <set>
#include <system_error>
#include <unordered_map>
#include <unordered_set>
#include <utility>

#include "capture/name_list.h"
#include "capture/shown_text.h"
#include "clockassay/capture/channel_names.h"

namespace clockassay {
namespace {

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

// Largest index of a bit, either way. Chosen: no sum of two overflows.
constexpr std::int64_t kLargestIndex = std::int64_t{1} << 40;

std::optional<std::int64_t> parse_index(std::string_view text) {
  std::int64_t index = 0;
  const char* const end = text.data() + text.size();
  const auto [stop, fault] = std::from_chars(text.data(), end, index);
  if (fault != std::errc() || stop != end) return std::nullopt;
  if (index < -kLargestIndex || index > kLargestIndex) return std::nullopt;
  return index;
}

// The index of the last select, whatever follows it: 3 of "bus[3] (2)".
std::optional<std::int64_t> last_index(std::string_view name) {
  const std::size_t open = name.rfind('[');
  const std::size_t close = name.rfind(']');
  if (open == name.npos || close == name.npos || close < open) {
    return std::nullopt;
  }
  return parse_index(name.substr(open + 1, close - open - 1));
}

// "clk [0]", "clk[0:0]" and "clk[00]" as "clk[0]".
std::string glued(std::string_view name) {
  const std::size_t begin = select_begin(name);
  const std::string text(without_select(name));
  const auto index =
      begin < name.size() ? last_index(name.substr(begin)) : std::nullopt;
  if (index) return text + '[' + std::to_string(*index) + ']';
  const auto range = parse_bit_range(name.substr(begin));
  if (range && range->first == range->last) {
    return text + '[' + std::to_string(range->first) + ']';
  }
  return text + std::string(name.substr(begin));
}

// What a name is compared by: see matching_channels.
enum class Rule { kWhole, kGlued, kNoSelect, kLeaf, kLeafNoSelect };
constexpr Rule kRules[] = {Rule::kWhole, Rule::kGlued, Rule::kNoSelect,
                           Rule::kLeaf, Rule::kLeafNoSelect};

std::string key(Rule rule, std::string_view name) {
  switch (rule) {
    case Rule::kWhole:
      return std::string(name);
    case Rule::kGlued:
      return glued(name);
    case Rule::kNoSelect:
      return std::string(without_select(name));
    case Rule::kLeaf:
      return std::string(leaf_name(glued(name)));
    case Rule::kLeafNoSelect:
      break;
  }
  return std::string(leaf_name(without_select(name)));
}

// What a wanted name means by the first rule that fits any.
struct Matches {
  std::vector<std::size_t> channels;
  std::vector<ChosenBit> bits;

  bool any() const { return !channels.empty() || !bits.empty(); }
};

// Looks for all wanted names at once: each name there is, is made into a key
// once a rule, not once for each that is wanted.
class Matcher {
 public:
  Matcher(std::span<const std::string> names, std::span<const BusName> buses,
          std::span<const std::string> wanted)
      : names_(names), buses_(buses), wanted_(wanted), found_(wanted.size()) {
    for (const std::string& name : wanted) {
      glued_.push_back(glued(name));
      // Of a bus only the bit of this index can be meant.
      indices_.push_back(last_index(glued_.back()));
    }
  }

  std::vector<Matches> run() {
    for (const Rule rule : kRules) {
      undecided_.clear();
      undecided_indices_.clear();
      for (std::size_t w = 0; w < wanted_.size(); ++w) {
        if (found_[w].any()) continue;
        undecided_[rule == Rule::kWhole ? wanted_[w] : glued_[w]].push_back(w);
        if (indices_[w]) undecided_indices_.insert(*indices_[w]);
      }
      if (undecided_.empty()) break;
      offer_names(rule);
      if (!buses_.empty()) offer_bits(rule);
    }
    return std::move(found_);
  }

 private:
  void offer_names(Rule rule) {
    for (std::size_t i = 0; i < names_.size(); ++i) {
      const auto at = undecided_.find(key(rule, names_[i]));
      if (at == undecided_.end()) continue;
      for (const std::size_t w : at->second) found_[w].channels.push_back(i);
    }
  }

  void offer_bits(Rule rule) {
    for (const std::int64_t index : undecided_indices_) {
      for (std::size_t b = 0; b < buses_.size(); ++b) {
        const auto place = buses_[b].range.place(index);
        if (!place) continue;
        std::string name = buses_[b].bit(index);
        const auto at = undecided_.find(key(rule, name));
        if (at == undecided_.end() || is_declared(name)) continue;
        for (const std::size_t w : at->second) {
          if (indices_[w] == index) {
            found_[w].bits.push_back({b, *place, name, {}});
          }
        }
      }
    }
  }

  // Whether a channel of its own has that name.
  bool is_declared(const std::string& name) {
    if (declared_.empty()) {
      for (const std::string& other : names_) declared_.insert(glued(other));
    }
    return declared_.contains(name);
  }

  std::span<const std::string> names_;
  std::span<const BusName> buses_;
  std::span<const std::string> wanted_;
  std::vector<std::string> glued_;                    // per wanted
  std::vector<std::optional<std::int64_t>> indices_;  // per wanted
  std::vector<Matches> found_;                        // per wanted
  std::unordered_map<std::string, std::vector<std::size_t>> undecided_;
  std::set<std::int64_t> undecided_indices_;
  std::unordered_set<std::string> declared_;
};

std::vector<Matches> match_all(std::span<const std::string> names,
                               std::span<const BusName> buses,
                               std::span<const std::string> wanted) {
  return Matcher(names, buses, wanted).run();
}

tl::unexpected<Error> refuse_several(std::span<const std::string> names,
                                     const Matches& found,
                                     const std::string& wanted) {
  std::vector<std::string_view> several;
  for (const std::size_t i : found.channels) several.push_back(names[i]);
  for (const ChosenBit& bit : found.bits) several.push_back(bit.name);
  const bool same = std::ranges::count(several, several.front()) ==
                    static_cast<std::ptrdiff_t>(several.size());
  return failure(ErrorCode::kUsage,
                 "found several channels " + shown_text(wanted) + ": " +
                     listed_names(several),
                 same ? "give them names that differ" : "give the full name");
}

// What to write instead of `wanted`, which means nothing.
std::string hint_for(std::span<const std::string> names,
                     std::span<const BusName> buses,
                     const std::string& wanted) {
  std::string near = did_you_mean(names, wanted);
  if (!near.empty()) return near;
  if (buses.empty()) return "name one of these";
  std::vector<std::string> bus_names;
  for (const BusName& bus : buses) bus_names.push_back(bus.name);
  const std::string_view near_bus =
      nearest_channel(bus_names, without_select(wanted));
  const auto at = std::ranges::find(bus_names, near_bus);
  const BusName& bus =
      buses[at == bus_names.end()
                ? 0
                : static_cast<std::size_t>(at - bus_names.begin())];
  const auto asked = last_index(wanted);
  const std::int64_t index =
      asked && bus.range.place(*asked) ? *asked : bus.range.last;
  return "name one of these; of a bus one bit, such as " +
         shown_text(bus.bit(index));
}

tl::unexpected<Error> refuse_missing(std::span<const std::string> names,
                                     std::span<const BusName> buses,
                                     const std::string& wanted) {
  std::vector<std::string> all(names.begin(), names.end());
  for (const BusName& bus : buses) all.push_back(bus.whole());
  return failure(ErrorCode::kBadData, "found " + no_such_channel(all, wanted),
                 hint_for(names, buses, wanted));
}

// Whether `wanted` means a bus as a whole, or a bit that it does not have.
std::optional<Error> refuse_bus(std::span<const BusName> buses,
                                const std::string& wanted) {
  std::vector<std::string> whole;
  for (const BusName& bus : buses) whole.push_back(bus.whole());
  auto found = matching_channels(whole, wanted);
  if (!found.empty()) {
    const BusName& bus = buses[found.front()];
    return Error{
        ErrorCode::kBadData,
        "found channel " + shown_text(bus.whole()) + " to be a bus of " +
            std::to_string(bus.range.width()) +
            " bits, expected one of its bits",
        "name one of them, such as " + shown_text(bus.bit(bus.range.last))};
  }
  const std::size_t open = wanted.rfind('[');
  if (!last_index(wanted) || open == wanted.npos) return std::nullopt;
  found = matching_channels(whole, without_select(wanted.substr(0, open)));
  if (found.empty()) return std::nullopt;
  const BusName& bus = buses[found.front()];
  return Error{ErrorCode::kBadData,
               "found no bit " + std::to_string(*last_index(wanted)) +
                   " in the bus " + shown_text(bus.whole()),
               "name a bit from " + shown_text(bus.bit(bus.range.first)) +
                   " to " + shown_text(bus.bit(bus.range.last))};
}

void add_once(std::vector<std::string>& list, const std::string& name) {
  if (std::ranges::find(list, name) == list.end()) list.push_back(name);
}

// Bits chosen so far, each once.
class BitChoice {
 public:
  explicit BitChoice(std::vector<ChosenBit>& chosen) : chosen_(&chosen) {}
  void add(const ChosenBit& bit, const std::string& asked) {
    const auto [at, added] =
        numbers_.emplace(std::pair(bit.bus, bit.place), chosen_->size());
    if (added) chosen_->push_back(bit);
    add_once((*chosen_)[at->second].asked, asked);
  }

 private:
  std::vector<ChosenBit>* chosen_;
  std::map<std::pair<std::size_t, std::int64_t>, std::size_t> numbers_;
};

}  // namespace

std::vector<std::size_t> matching_channels(std::span<const std::string> names,
                                           std::string_view wanted) {
  const std::string one(wanted);
  return match_all(names, {}, std::span(&one, 1)).front().channels;
}

std::vector<std::vector<std::size_t>> channels_matching_each(
    std::span<const std::string> names, std::span<const std::string> wanted) {
  std::vector<std::vector<std::size_t>> found;
  for (Matches& matches : match_all(names, {}, wanted)) {
    found.push_back(std::move(matches.channels));
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

std::optional<std::int64_t> BitRange::place(std::int64_t index) const {
  if (index < std::min(first, last) || index > std::max(first, last)) {
    return std::nullopt;
  }
  return index > last ? index - last : last - index;
}

std::string BitRange::text() const {
  return '[' + std::to_string(first) + ':' + std::to_string(last) + ']';
}

std::string BusName::bit(std::int64_t index) const {
  return name + '[' + std::to_string(index) + ']' + suffix;
}

std::optional<BitRange> parse_bit_range(std::string_view text) {
  std::string digits;
  for (const char c : text) {
    if (c != ' ') digits += c;
  }
  const std::size_t colon = digits.find(':');
  if (colon == digits.npos || !digits.starts_with('[') ||
      !digits.ends_with(']')) {
    return std::nullopt;
  }
  const std::string_view inner =
      std::string_view(digits).substr(1, digits.size() - 2);
  const auto first = parse_index(inner.substr(0, colon - 1));
  const auto last = parse_index(inner.substr(colon));
  if (!first || !last) return std::nullopt;
  return BitRange{*first, *last};
}

Result<ChannelSelection> select_channels(std::span<const std::string> names,
                                         std::span<const std::string> wanted,
                                         bool skip_missing,
                                         std::span<const BusName> buses) {
  ChannelSelection selection;
  selection.asked.resize(names.size());
  const std::vector<Matches> all = match_all(names, buses, wanted);
  BitChoice bits(selection.bits);
  std::set<std::string_view> missing;
  for (std::size_t i = 0; i < wanted.size(); ++i) {
    const std::string& name = wanted[i];
    const Matches& found = all[i];
    if (found.channels.size() + found.bits.size() > 1) {
      return refuse_several(names, found, name);
    }
    if (!found.channels.empty()) {
      add_once(selection.asked[found.channels.front()], name);
    } else if (!found.bits.empty()) {
      bits.add(found.bits.front(), name);
    } else if (auto error = refuse_bus(buses, name)) {
      return tl::unexpected<Error>(std::move(*error));
    } else if (!skip_missing) {
      return refuse_missing(names, buses, name);
    } else if (missing.insert(name).second) {
      selection.missing.push_back(name);
    }
  }
  return selection;
}

}  // namespace clockassay
