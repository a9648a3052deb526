// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/facts.h"

#include "report/number_format.h"

namespace clockassay {
namespace {

// Chosen: shows an interval that is no round number as such.
constexpr int kDigits = 9;

std::string time_text(Seconds s) {
  return time_to_digits(s.value(), kDigits);
}

std::string channel_list(const CaptureResult& c) {
  constexpr std::size_t kListed = 20;  // chosen: a few lines
  std::string list;
  std::size_t listed = 0;
  const auto add = [&](const std::string& name, const std::string& what) {
    if (listed++ < kListed) {
      list += (list.empty() ? "" : "; ") + name + ": " + what;
    }
  };
  for (const ChannelResult& channel : c.channels) {
    add(channel.name, channel.budget ? "a clock" : "no frequency");
  }
  for (const IdleChannel& idle : c.idle_channels) {
    add(idle.name, count(idle.edges) + " edges, no clock");
  }
  return listed > kListed ? list + "; …" : list;
}

}  // namespace

std::string interval_text(Seconds s) {
  const std::string text = time_text(s);
  const std::size_t unit = text.rfind(' ');
  std::string number = text.substr(0, unit);
  if (number.find('.') != std::string::npos) {
    number.erase(number.find_last_not_of(" 0") + 1);
    if (number.ends_with('.')) number.pop_back();
  }
  return number + text.substr(unit);
}

std::vector<ReadingFact> facts_of(const CaptureResult& c) {
  std::vector<ReadingFact> facts;
  if (c.understanding) facts = c.understanding->facts;
  facts.push_back({"times written",
                   "in steps of " + interval_text(c.text_resolution),
                   c.text_resolution_reason});
  facts.push_back(
      {"sampled",
       c.sample_interval ? "every " + interval_text(*c.sample_interval)
                         : "at unknown times",
       c.sample_interval_reason.empty() ? c.sample_interval_source
                                        : c.sample_interval_reason});
  facts.push_back(
      {"edge known", "within " + interval_text(c.window), c.window_reason});
  facts.push_back(
      {"first stamp", c.origin + " s", "other times count from it"});
  facts.push_back({"length", interval_text(c.duration), "first to last stamp"});
  facts.push_back({"channels read",
                   std::to_string(c.channels.size() + c.idle_channels.size()),
                   channel_list(c)});
  return facts;
}

}  // namespace clockassay
