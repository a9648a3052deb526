// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>

#include "clockassay/analysis/analyse.h"

namespace clockassay {
namespace {

bool has_edges(const ChannelRecord& channel) {
  return std::any_of(
      channel.runs.begin(), channel.runs.end(),
      [](const EdgeRun& run) { return run.last_rise || run.leading_fall; });
}

}  // namespace

std::optional<Error> refuse_many(const Capture& capture) {
  const auto found = static_cast<std::size_t>(std::count_if(
      capture.channels.begin(), capture.channels.end(), has_edges));
  if (found <= kMostChannels) return std::nullopt;
  return Error{ErrorCode::kBadData,
               "found edges on " + std::to_string(found) +
                   " channels, expected " + std::to_string(kMostChannels) +
                   " at most at once",
               "name those that are clocks: --channel NAME, or in a "
               "specification"};
}

}  // namespace clockassay
