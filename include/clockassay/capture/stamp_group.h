// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>

#include "clockassay/base/units.h"
#include "clockassay/capture/level_event.h"

namespace clockassay {

/// The statements about one channel at one stamp, reduced to what can still
/// matter: the first and the last known level, and whether the last statement
/// was "unknown". Going there and back within the stamp is counted and
/// forgotten, which is right whatever precedes or follows; so a stamp that a
/// cut divided gives the same as a whole one.
class StampGroup {
 public:
  /// Settled level after the stamp, and the zero-width pulses of the stamp.
  struct Settled {
    Level level;
    std::int64_t zero_width_pulses;
  };

  bool empty() const { return empty_; }
  Ticks time() const { return time_; }

  void start(Ticks time) {
    *this = StampGroup();
    time_ = time;
    empty_ = false;
  }
  void add(Level level);

  /// `before`: the settled level before the stamp.
  Settled settle(Level before) const;

  Level first_known() const { return first_; }
  Level last_known() const { return last_; }
  bool ends_unknown() const { return ends_unknown_; }
  /// Pulses counted within the stamp so far, whatever the level before.
  std::int64_t zero_width_pulses() const { return pulses_; }

 private:
  Ticks time_;
  bool empty_ = true;
  bool ends_unknown_ = false;
  Level first_ = Level::kUnknown;
  Level last_ = Level::kUnknown;
  std::int64_t pulses_ = 0;
};

}  // namespace clockassay
