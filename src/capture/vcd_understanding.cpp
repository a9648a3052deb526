// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/vcd_understanding.h"

#include <algorithm>
#include <string>
#include <utility>
#include <vector>

#include "capture/exact_seconds.h"
#include "capture/line_ends.h"

namespace clockassay {
namespace {

// Records shown, and how much of each. Chosen: a screen of text.
constexpr std::size_t kRecords = 5;
constexpr std::size_t kMostValues = 8;
constexpr std::size_t kMostText = 120;
// How far records are looked for [bytes]. Chosen: long against five stamps.
constexpr std::size_t kSearched = std::size_t{1} << 20;

std::string counted(std::size_t count, const char* one, const char* several) {
  return std::to_string(count) + ' ' + (count == 1 ? one : several);
}

std::int64_t line_of(std::string_view text, std::size_t byte) {
  return 1 + count_line_ends(text.substr(0, byte));
}

std::string place(std::string_view text, std::size_t byte) {
  return "line " + std::to_string(line_of(text, byte)) + ", byte " +
         std::to_string(byte);
}

ReadingFact timescale_fact(std::string_view prefix, const VcdHeader& header,
                           const Layout& layout) {
  if (!header.tick_s) {
    return {"timescale", "none", "one tick is taken as one second"};
  }
  return {"timescale",
          header.timescale + ", a tick of " +
              exact_seconds(Ticks(1), layout.grid.tick_s) + " s",
          "$timescale at " + place(prefix, header.timescale_byte)};
}

ReadingFact variables_fact(const VcdHeader& header,
                           const VcdChannels& channels) {
  const auto unusable = std::ranges::count_if(
      header.vars, [](const VcdVar& var) { return !var.unusable.empty(); });
  std::string found =
      counted(channels.names.size(), "name of one bit", "names of one bit") +
      ", " + counted(channels.buses.size(), "bus", "buses");
  if (unusable > 0) {
    found += ", " + std::to_string(unusable) + " that can hold no clock";
  }
  return {"variables", std::move(found),
          counted(header.vars.size(), "$var", "$var") + " in the header"};
}

void add_channel_facts(const VcdHeader& header, const VcdChannels& channels,
                       const ReadOptions& options,
                       std::vector<ReadingFact>& facts) {
  std::string names;
  const std::size_t count = channels.selected.size();
  for (std::size_t i = 0; i < std::min(count, kMostValues); ++i) {
    names += (i == 0 ? "" : ", ") + channels.selected[i].name;
  }
  if (count > kMostValues) {
    names += " and " + std::to_string(count - kMostValues) + " more";
  }
  facts.push_back({"channels", count == 0 ? "none" : std::move(names),
                   options.channels.empty()
                       ? "all of one bit, each signal under its first name"
                       : "asked for by name"});
  for (const VcdVar& var : header.vars) {
    if (!var.bits || channels.nets.buses.empty()) continue;
    const std::string bit = var.name + '[';
    const bool read = std::ranges::any_of(
        channels.selected,
        [&bit](const SelectedChannel& c) { return c.name.starts_with(bit); });
    if (!read) continue;
    facts.push_back({"range of " + var.name, var.bits->text(),
                     var.range_declared
                         ? "declared"
                         : "declared without a range, with a width of " +
                               std::to_string(var.bits->width())});
  }
}

const char* level_text(Level level) {
  return level == Level::kLow ? "0" : level == Level::kHigh ? "1" : "unknown";
}

std::vector<std::string> values_of(const VcdBody& body, const VcdNets& nets) {
  std::vector<std::string> values;
  const auto& found = body.nets_with_level();
  for (std::size_t i = 0; i < std::min(found.size(), kMostValues); ++i) {
    values.push_back(nets.names[found[i]] + " = " +
                     level_text(*body.initial_levels()[found[i]]));
  }
  if (found.size() > kMostValues) {
    values.push_back("and " + std::to_string(found.size() - kMostValues) +
                     " more");
  }
  return values;
}

std::string record_text(std::string_view text) {
  const std::size_t end = text.find_last_not_of(" \t\r\n\v\f");
  text = text.substr(0, end == text.npos ? 0 : end + 1);
  if (text.size() <= kMostText) return std::string(text);
  return std::string(text.substr(0, kMostText)) + " …";
}

}  // namespace

Understanding understand_vcd(std::string_view prefix, bool whole,
                             const VcdHeader& header,
                             const VcdChannels& channels,
                             const ReadOptions& options, const Layout& layout,
                             VcdBody values) {
  Understanding result;
  result.facts.push_back(timescale_fact(prefix, header, layout));
  result.facts.push_back(
      {"header", "ends at " + place(prefix, header.end),
       header.has_end ? "$enddefinitions"
                      : "no $enddefinitions, but a time or $dump… there"});
  result.facts.push_back(variables_fact(header, channels));
  add_channel_facts(header, channels, options, result.facts);

  const auto body = static_cast<std::size_t>(layout.body_offset);
  const std::size_t values_begin = body - values.position();
  while (result.first_records.size() < kRecords &&
         values_begin + values.position() < prefix.size() &&
         values.position() < kSearched) {
    const std::size_t begin = values_begin + values.position();
    values.take_stamp();
    values.run_to_stamp();
    const std::size_t end = values_begin + values.position();
    // What the prefix may have cut is not shown.
    const bool cut = end == prefix.size() && !whole;
    if (values.stopped() || values.error() || !values.now() || cut) break;
    std::vector<std::string> found = values_of(values, channels.nets);
    values.forget_levels();
    if (found.empty()) continue;
    result.first_records.push_back(
        {line_of(prefix, begin), record_text(prefix.substr(begin, end - begin)),
         exact_seconds(*values.now(), layout.grid.tick_s), std::move(found)});
  }
  return result;
}

}  // namespace clockassay
