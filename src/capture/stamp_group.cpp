// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/capture/stamp_group.h"

namespace clockassay {

void StampGroup::add(Level level) {
  // An unknown level that does not outlast its stamp never was.
  ends_unknown_ = level == Level::kUnknown;
  if (ends_unknown_ || level == last_) return;
  if (first_ == Level::kUnknown) {
    first_ = level;
  } else if (last_ != first_) {
    ++pulses_;  // a, b, a: the level a was left and resumed
  }
  last_ = level;
}

StampGroup::Settled StampGroup::settle(Level before) const {
  std::int64_t pulses = pulses_;
  // before = b, then a, b: b was left and resumed.
  if (before != Level::kUnknown && first_ != Level::kUnknown &&
      before != first_ && first_ != last_) {
    ++pulses;
  }
  const bool unknown = ends_unknown_ || last_ == Level::kUnknown;
  return {unknown ? Level::kUnknown : last_, pulses};
}

}  // namespace clockassay
