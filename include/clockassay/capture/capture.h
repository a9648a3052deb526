// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "clockassay/base/units.h"
#include "clockassay/base/warning.h"
#include "clockassay/capture/arena.h"
#include "clockassay/capture/channel_stream.h"
#include "clockassay/capture/time_grid.h"
#include "clockassay/capture/understanding.h"

namespace clockassay {

/// A capture as read: exact, unnumbered, unrepaired.
struct Capture {
  std::string format;      ///< "vcd" or "csv"
  std::int64_t bytes = 0;  ///< of text read
  TimeGrid grid;
  Ticks first_stamp;
  Ticks last_stamp;
  std::string origin;                   ///< first stamp in seconds, exact text
  std::vector<ChannelRecord> channels;  ///< the selected ones, in file order
  std::vector<std::string> channel_names;  ///< all the file declares
  /// Names of ReadOptions::channels that mean none of them, in the order in
  /// which they were asked for; only with skip_missing_channels.
  std::vector<std::string> missing_channels;
  std::vector<Warning> warnings;
  Understanding understanding;
  std::vector<Arena> arenas;  ///< what the blocks point into
};

}  // namespace clockassay
