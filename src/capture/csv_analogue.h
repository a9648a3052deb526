// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "clockassay/base/result.h"
#include "clockassay/base/units.h"
#include "clockassay/capture/level_event.h"
#include "clockassay/capture/read_options.h"

namespace clockassay {

/// Where an analogue column turns, in whole multiples of 10^place of its unit,
/// as its values are held.
struct AnalogueScale {
  int place = 0;
  Int128 threshold = 0;
  Int128 high_from = 0;  ///< least value at which it is high
  Int128 low_to = 0;     ///< greatest value at which it is low
  Int128 hysteresis = 0;
  bool automatic_threshold = false;
  bool automatic_hysteresis = false;
};

/// What the first values of a column show.
struct AnalogueSwing {
  Int128 low = 0;    ///< median of the values below the middle of the range
  Int128 high = 0;   ///< median of those above
  Int128 least = 0;  ///< of all
  Int128 greatest = 0;
  int place = 0;  ///< all of these are multiples of 10^place

  /// Midway between low and high; nullopt when all values are one.
  std::optional<Int128> middle() const;
};

/// A value that is held: below 2^125 in magnitude.
/// nullopt when the cell is no decimal number, has a digit below 10^place, or
/// is too large.
std::optional<Int128> analogue_value(std::string_view cell, char mark,
                                     int place);

/// value * 10^place as a decimal number, such as "-0.35".
std::string analogue_text(Int128 value, int place);

/// The place that suits a column whose first cells, all of them decimal
/// numbers, are these: 34 places below the first digit of the largest, or of
/// `threshold` where that is larger, so that doubles printed in full fit.
int analogue_place(std::span<const std::string_view> cells, char mark,
                   const std::optional<Rational>& threshold);

/// What the first values of a column, at least one, show. Without the 1 in 200
/// that are smallest and the 1 in 200 that are largest, the middle of their
/// range divides the low from the high ones: a spike does not count, and a
/// pulse of one part in a hundred does.
AnalogueSwing analogue_swing(std::vector<Int128> values, int place);

/// What is not stated follows from the swing: the threshold is midway, the
/// hysteresis a tenth of the swing.
/// Errors: kUsage when what is stated has digits below 10^place, or the
///         hysteresis is negative; kBadData when the threshold is not stated
///         and all values are one.
Result<AnalogueScale> plan_analogue(const AnalogueSwing& swing,
                                    const AnalogueOptions& options);

/// The samples of one analogue column, one after the other.
/// It is high from the first sample at or above threshold + hysteresis / 2 on,
/// low from the first at or below threshold - hysteresis / 2 on, and nothing is
/// known before either. Where it turns, the edge is at the last instant before
/// that at which the straight line between two samples passes from below the
/// threshold to it or above, or back; rounded to the nearest tick.
class AnalogueTrack {
 public:
  /// `time` must not decrease. What follows from the sample: at most one
  /// statement, whose times do not decrease.
  std::optional<LevelEvent> take(const AnalogueScale& scale, Ticks time,
                                 Int128 value);

  /// Nothing is known from here to the next sample, and no line leads to it.
  void break_off() {
    joined_ = false;
    level_ = Level::kUnknown;
  }

  bool empty() const { return !seen_; }
  Int128 least() const { return least_; }
  Int128 greatest() const { return greatest_; }
  /// Longest time between two samples; 0 with fewer than two.
  Ticks longest_step() const { return longest_step_; }
  Level level() const { return level_; }
  bool has_turned() const { return has_turned_; }

  /// To and from numbers that ParseState can hold.
  void save(std::vector<std::int64_t>& numbers) const;
  /// Takes what save() wrote off the front.
  static AnalogueTrack load(std::span<const std::int64_t>& numbers);

 private:
  bool seen_ = false;
  bool joined_ = false;  // a line leads from the last sample to the next
  bool has_turned_ = false;
  Level level_ = Level::kUnknown;
  Ticks time_;        // of the last sample
  Int128 value_ = 0;  // of it
  Ticks crossing_;    // the last one; set whenever the level is to turn
  Ticks longest_step_;
  Int128 least_ = 0;
  Int128 greatest_ = 0;
};

}  // namespace clockassay
