// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/vcd_channels.h"

#include <algorithm>
#include <map>
#include <optional>
#include <set>
#include <span>
#include <utility>

#include "capture/channel_selection.h"
#include "capture/name_list.h"
#include "capture/shown_text.h"

namespace clockassay {
namespace {

// A one-bit variable, or a bus, under the name by which it can be asked for.
struct Candidate {
  const VcdVar* var;
  std::string name;
  std::string suffix;    // " (2)" of the second net of one name
  bool several = false;  // other nets have the same name
};

// One candidate per name and net. A name that several nets have gets a number.
std::vector<Candidate> candidates(const VcdHeader& header, bool buses) {
  std::vector<Candidate> found;
  struct SameName {
    std::vector<std::size_t> candidates;  // indices in found
    std::set<std::size_t> nets;
  };
  std::map<std::string, SameName> by_name;
  for (const VcdVar& var : header.vars) {
    if (!var.unusable.empty() || var.bits.has_value() != buses) continue;
    auto& same = by_name[buses ? var.name + var.bits->text() : var.name];
    if (!same.nets.insert(var.id).second) continue;  // declared before
    same.candidates.push_back(found.size());
    found.push_back({&var, var.name, {}});
  }
  for (const auto& [name, every] : by_name) {
    const std::vector<std::size_t>& same = every.candidates;
    if (same.size() == 1) continue;
    for (std::size_t i = 0; i < same.size(); ++i) {
      found[same[i]].several = true;
      if (i > 0) found[same[i]].suffix = " (" + std::to_string(i + 1) + ")";
    }
  }
  return found;
}

tl::unexpected<Error> nothing_to_read(const VcdHeader& header,
                                      const std::vector<BusName>& buses) {
  Error error{ErrorCode::kBadData,
              "found no $var in the header, expected at least one",
              "dump the clock's signal as well"};
  if (!buses.empty()) {
    error.message = "found no variable of one bit; " +
                    shown_text(buses.front().whole()) + " is a bus of " +
                    std::to_string(buses.front().range.width()) + " bits";
    error.hint = "if a bit of it is the clock, name it, such as " +
                 shown_text(buses.front().bit(buses.front().range.last));
  } else if (!header.vars.empty()) {
    const VcdVar& first = header.vars.front();
    error.message = "found no variable of one bit, expected at least one; " +
                    shown_text(first.name) + " is " + first.unusable;
    error.hint = "dump the clock as a signal of its own";
  }
  error.byte = static_cast<std::int64_t>(header.end);
  return tl::unexpected<Error>(std::move(error));
}

// Whether one of the names that mean no channel means something that there is
// but cannot be a clock, whole or by a bit.
std::optional<Error> refuse_unusable(const VcdHeader& header,
                                     std::span<const std::string> missing) {
  if (missing.empty()) return std::nullopt;
  std::vector<const VcdVar*> unusable;
  std::vector<std::string> unusable_names;
  for (const VcdVar& var : header.vars) {
    if (var.unusable.empty()) continue;
    unusable.push_back(&var);
    unusable_names.push_back(var.name);
  }
  std::vector<std::string> before_bit;
  for (const std::string& name : missing) {
    before_bit.push_back(name.substr(0, name.rfind('[')));
  }
  const auto whole = channels_matching_each(unusable_names, missing);
  const auto by_bit = channels_matching_each(unusable_names, before_bit);
  for (std::size_t i = 0; i < missing.size(); ++i) {
    const auto& found = whole[i].empty() ? by_bit[i] : whole[i];
    if (found.empty()) continue;
    const VcdVar& var = *unusable[found.front()];
    Error error{ErrorCode::kBadData,
                "found channel " + shown_text(var.name) + " to be " +
                    var.unusable + ", expected a variable of one bit",
                "dump the clock as a signal of its own"};
    error.byte = static_cast<std::int64_t>(var.byte);
    return error;
  }
  return std::nullopt;
}

// When nothing is asked for: each net by its first name.
std::vector<std::size_t> one_per_net(const std::vector<Candidate>& all) {
  std::vector<std::size_t> chosen;
  std::set<std::size_t> seen;
  for (std::size_t i = 0; i < all.size(); ++i) {
    if (seen.insert(all[i].var->id).second) chosen.push_back(i);
  }
  return chosen;
}

// A channel to be read: of one bit, or a bit of a bus.
struct Reading {
  const Candidate* from;
  std::string name;
  std::vector<std::string> asked;
  std::optional<std::int64_t> place;  // in a bus
};

// The net of a variable of one bit; aliases share it.
std::size_t net_of(VcdNets& nets, const Reading& reading) {
  std::int32_t& net = nets.net_of_id[reading.from->var->id];
  if (net < 0) {
    net = static_cast<std::int32_t>(nets.names.size());
    nets.names.push_back(reading.name);
  }
  return static_cast<std::size_t>(net);
}

// The net of a bit of a bus; aliases share it.
std::size_t net_of_bit(VcdNets& nets, const Reading& reading) {
  const VcdVar& var = *reading.from->var;
  std::int32_t& number = nets.net_of_id[var.id];
  if (number == VcdNets::kNotRead) {
    number = VcdNets::kFirstBus - static_cast<std::int32_t>(nets.buses.size());
    nets.buses.push_back({var.name + var.bits->text(), var.bits->width(), {}});
  }
  VcdBus& bus =
      nets.buses[static_cast<std::size_t>(VcdNets::kFirstBus - number)];
  for (const VcdBus::Bit& bit : bus.bits) {
    if (bit.place == *reading.place) return bit.net;
  }
  bus.bits.push_back({nets.names.size(), *reading.place});
  nets.names.push_back(reading.name);
  return bus.bits.back().net;
}

// What is asked for, in file order.
std::vector<Reading> readings(const std::vector<Candidate>& bits,
                              const std::vector<Candidate>& buses,
                              const ChannelSelection& selection, bool all) {
  std::vector<Reading> found;
  for (const std::size_t i : all ? one_per_net(bits) : selection.chosen()) {
    found.push_back({&bits[i], bits[i].name + bits[i].suffix,
                     selection.asked[i], std::nullopt});
  }
  for (const ChosenBit& bit : selection.bits) {
    found.push_back({&buses[bit.bus], bit.name, bit.asked, bit.place});
  }
  std::stable_sort(found.begin(), found.end(),
                   [](const Reading& a, const Reading& b) {
                     return a.from->var < b.from->var;
                   });
  return found;
}

// One warning for all channels whose name other nets have too.
void warn_of_duplicates(const std::vector<Reading>& read,
                        std::vector<Warning>& warnings) {
  std::vector<std::string_view> names;
  for (const Reading& reading : read) {
    if (reading.from->several) names.push_back(reading.name);
  }
  if (names.empty()) return;
  warnings.push_back(
      {WarningCode::kDuplicateNames,
       names.size() == 1
           ? "several signals have the name of " + listed_names(names) +
                 "; make sure that it is the one you mean"
           : std::to_string(names.size()) +
                 " channels have names that several signals have: " +
                 listed_names(names) +
                 "; make sure that they are the ones you mean"});
}

}  // namespace

Result<VcdChannels> choose_vcd_channels(const VcdHeader& header,
                                        const ReadOptions& options) {
  const std::vector<Candidate> bits = candidates(header, false);
  const std::vector<Candidate> buses = candidates(header, true);
  VcdChannels channels;
  for (const Candidate& c : bits) channels.names.push_back(c.name + c.suffix);
  for (const Candidate& c : buses) {
    channels.buses.push_back({c.name, *c.var->bits, c.suffix});
  }
  const bool all = options.channels.empty();
  if (bits.empty() && (all || buses.empty())) {
    return nothing_to_read(header, channels.buses);
  }
  auto selection =
      select_channels(channels.names, options.channels, true, channels.buses);
  if (!selection) return tl::unexpected(selection.error());
  if (auto error = refuse_unusable(header, selection->missing)) {
    return tl::unexpected<Error>(std::move(*error));
  }
  if (!selection->missing.empty() && !options.skip_missing_channels) {
    selection = select_channels(channels.names, selection->missing, false,
                                channels.buses);
    return tl::unexpected(selection.error());
  }
  channels.missing = std::move(selection->missing);
  channels.nets.ids = header.ids;
  channels.nets.net_of_id.assign(header.ids.size(), VcdNets::kNotRead);
  std::vector<Reading> read = readings(bits, buses, *selection, all);
  warn_of_duplicates(read, channels.warnings);
  for (Reading& reading : read) {
    channels.net.push_back(reading.place ? net_of_bit(channels.nets, reading)
                                         : net_of(channels.nets, reading));
    channels.selected.push_back(
        {std::move(reading.name), std::move(reading.asked)});
  }
  return channels;
}

}  // namespace clockassay
