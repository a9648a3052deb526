// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "clockassay/capture/channel_stream.h"

namespace clockassay::test {

/// A run written out: where the level is known, and every edge.
struct PlainRun {
  std::int64_t known_from = 0;
  std::int64_t known_to = 0;
  std::vector<LevelEvent> edges;
  friend bool operator==(const PlainRun&, const PlainRun&) = default;
};

/// A channel without what grouping into blocks may change.
struct PlainChannel {
  std::string name;
  std::vector<PlainRun> runs;
  std::int64_t zero_width_pulses = 0;
  std::int64_t unknown_stretches = 0;
  friend bool operator==(const PlainChannel&, const PlainChannel&) = default;
};

inline PlainRun plain_run(const EdgeRun& run) {
  PlainRun out{run.known_from.count(), run.known_to.count(), {}};
  const auto add = [&out](std::optional<Ticks> time, Level level) {
    if (time) out.edges.push_back({*time, level});
  };
  add(run.leading_fall, Level::kLow);
  std::vector<DecodedCycles> buffer(1);  // too large for the stack
  for (const CycleBlock& block : run.blocks) {
    decode_cycles(block, buffer[0]);
    for (std::size_t i = 0; i < buffer[0].count; ++i) {
      add(block.first + Ticks(buffer[0].rise[i]), Level::kHigh);
      add(block.first + Ticks(buffer[0].fall[i]), Level::kLow);
    }
  }
  add(run.last_rise, Level::kHigh);
  add(run.trailing_fall, Level::kLow);
  return out;
}

inline PlainChannel plain_channel(const ChannelRecord& record) {
  PlainChannel out{
      record.name, {}, record.zero_width_pulses, record.unknown_stretches};
  for (const EdgeRun& run : record.runs) out.runs.push_back(plain_run(run));
  return out;
}

}  // namespace clockassay::test
