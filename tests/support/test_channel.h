// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <memory>
#include <span>
#include <vector>

#include "clockassay/capture/arena.h"
#include "clockassay/capture/channel_stream.h"
#include "clockassay/capture/simulated_clock.h"

namespace clockassay {

/// A channel record with the memory it points into.
struct TestChannel {
  std::unique_ptr<Arena> arena;
  ChannelRecord record;
};

/// The channel whose level changes at the given instants [ticks, increasing],
/// low before the first; known from `from` to `to`.
TestChannel channel_from_changes(std::span<const std::int64_t> changes,
                                 std::int64_t from, std::int64_t to);

/// 10 000 cycles of 100 ticks, high for the first `high` of each, without cycle
/// 5000.
TestChannel channel_with_lost_cycle(std::int64_t high);

/// The channel a simulated capture shows, in sample numbers.
TestChannel channel_from_simulation(const SimulatedCapture& capture);

}  // namespace clockassay
