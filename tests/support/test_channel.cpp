// SPDX-License-Identifier: GPL-3.0-or-later
#include "support/test_channel.h"

namespace clockassay {
namespace {

TestChannel build(Level first, std::span<const std::int64_t> changes,
                  std::int64_t from, std::int64_t to) {
  PieceChannelBuilder builder;
  builder.add(Ticks(from), first);
  Level level = first;
  for (std::int64_t t : changes) {
    level = level == Level::kLow ? Level::kHigh : Level::kLow;
    builder.add(Ticks(t), level);
  }
  TestChannel channel;
  channel.arena = std::make_unique<Arena>();
  ChannelJoiner joiner(*channel.arena);
  joiner.append(builder.finish());
  channel.record = joiner.finish("clock", Ticks(to));
  return channel;
}

}  // namespace

TestChannel channel_from_changes(std::span<const std::int64_t> changes,
                                 std::int64_t from, std::int64_t to) {
  return build(Level::kLow, changes, from, to);
}

TestChannel channel_with_lost_cycle(std::int64_t high) {
  std::vector<std::int64_t> changes;
  for (std::int64_t k = 0; k < 10000; ++k) {
    if (k == 5000) continue;
    changes.push_back(1000 + 100 * k);
    changes.push_back(1000 + 100 * k + high);
  }
  return channel_from_changes(changes, 0, 1'002'000);
}

TestChannel channel_from_simulation(const SimulatedCapture& capture) {
  return build(capture.first_level, capture.edges, 0, capture.last_sample);
}

}  // namespace clockassay
