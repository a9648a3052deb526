// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/csv_analogue.h"

#include <algorithm>
#include <cassert>
#include <cmath>

#include "capture/csv_cells.h"
#include "capture/power_of_ten.h"

namespace clockassay {
namespace {

using Number = DecimalText<Int128>;

// Places from the first digit of the largest of the first values to the last
// one that is held. 17 digits of a double that is 10^-17 times as large fit,
// and 2^125 leaves a factor of 400 above.
constexpr int kPlaces = 34;

// Magnitudes stay below this, so that differences stay below 2^126.
constexpr Int128 kMostValue = Int128{1} << 125;

// The finest place: where the powers of ten of a Rational end.
constexpr int kLeastPlace = -37;

// One in so many values at either end is no part of the range. Chosen.
constexpr std::size_t kSpikes = 200;

// Hysteresis that is not stated, as a part of the swing. Chosen: see
// AnalogueOptions.
constexpr int kHysteresisPart = 10;

std::optional<Int128> held(const Number& number, int place) {
  if (number.digits == 0) return 0;
  Int128 value = number.digits;
  int power = number.last_nonzero_place() - place;
  if (power < 0) return std::nullopt;
  for (; power > 0; --power) {
    if (value > kMostValue / 10) return std::nullopt;
    value *= 10;
  }
  if (value >= kMostValue) return std::nullopt;
  return number.negative ? -value : value;
}

// duration * part / whole, rounded to the nearest, the greater of two as near;
// 0 <= part <= whole < 2^126, 0 < whole. One bit of the duration after the
// other: the product has up to 189 bits.
std::int64_t share_of(std::int64_t duration, Int128 part, Int128 whole) {
  std::int64_t quotient = 0;
  Int128 rest = 0;
  for (int bit = 62; bit >= 0; --bit) {
    quotient *= 2;
    rest *= 2;
    if ((duration >> bit & 1) != 0) {
      // Taken off before and after: the sum stays below 2^127.
      if (rest >= whole) {
        rest -= whole;
        ++quotient;
      }
      rest += part;
    }
    if (rest >= whole) {
      rest -= whole;
      ++quotient;
    }
  }
  return 2 * rest >= whole ? quotient + 1 : quotient;
}

// When the line from one sample to the next is at `threshold`.
Ticks crossing_time(Ticks from, Int128 before, Ticks to, Int128 after,
                    Int128 threshold) {
  const bool rises = after > before;
  return from + Ticks(share_of((to - from).count(),
                               rises ? threshold - before : before - threshold,
                               rises ? after - before : before - after));
}

void put(std::vector<std::int64_t>& numbers, Int128 value) {
  numbers.push_back(static_cast<std::int64_t>(value >> 64));
  numbers.push_back(static_cast<std::int64_t>(value));
}

std::int64_t take_one(std::span<const std::int64_t>& numbers) {
  assert(!numbers.empty());
  const std::int64_t number = numbers.front();
  numbers = numbers.subspan(1);
  return number;
}

Int128 take_two(std::span<const std::int64_t>& numbers) {
  const std::int64_t high = take_one(numbers);
  const auto low = static_cast<std::uint64_t>(take_one(numbers));
  return (static_cast<Int128>(high) << 64) | static_cast<Int128>(low);
}

Int128 median(std::span<const Int128> sorted) {
  return sorted[(sorted.size() - 1) / 2];
}

Int128 floor_half(Int128 value) {
  return value >> 1;
}

std::optional<Int128> on_grid(const Rational& value, int place) {
  const auto scaled = divide(value, power_of_ten(place));
  if (!scaled || !scaled->is_integer()) return std::nullopt;
  if (scaled->num() >= kMostValue || scaled->num() <= -kMostValue) {
    return std::nullopt;
  }
  return scaled->num();
}

}  // namespace

std::optional<Int128> AnalogueSwing::middle() const {
  if (low == high) return std::nullopt;
  return floor_half(low + high);
}

std::optional<Int128> analogue_value(std::string_view cell, char mark,
                                     int place) {
  const auto number = scan_decimal<Int128>(cell, mark);
  return number ? held(*number, place) : std::nullopt;
}

std::string analogue_text(Int128 value, int place) {
  const bool negative = value < 0;
  if (negative) value = -value;
  std::string digits = Rational::make(value, 1)->to_string();
  if (value != 0)
    digits.append(static_cast<std::size_t>(std::max(place, 0)), '0');
  if (place < 0) {
    const auto decimals = static_cast<std::size_t>(-place);
    if (digits.size() <= decimals) {
      digits.insert(0, decimals + 1 - digits.size(), '0');
    }
    digits.insert(digits.size() - decimals, ".");
    digits.erase(digits.find_last_not_of('0') + 1);
    if (digits.back() == '.') digits.pop_back();
  }
  return (negative ? "-" : "") + digits;
}

int analogue_place(std::span<const std::string_view> cells, char mark,
                   const std::optional<Rational>& threshold) {
  int first = kLeastPlace;
  for (std::string_view cell : cells) {
    const auto number = scan_decimal<Int128>(cell, mark);
    if (number && number->digits != 0) {
      first = std::max(first, number->first_place());
    }
  }
  if (threshold) {
    const double size = std::abs(threshold->to_double());
    // A power of ten that is off by one only moves the last place held.
    if (size > 0.0) {
      first = std::max(first, static_cast<int>(std::floor(std::log10(size))));
    }
  }
  return std::clamp(first - kPlaces, kLeastPlace, 0);
}

AnalogueSwing analogue_swing(std::vector<Int128> values, int place) {
  assert(!values.empty());
  std::sort(values.begin(), values.end());
  AnalogueSwing swing;
  swing.place = place;
  swing.least = values.front();
  swing.greatest = values.back();
  const std::size_t spikes = values.size() / kSpikes;
  const std::span<const Int128> usual(values.data() + spikes,
                                      values.size() - 2 * spikes);
  const Int128 middle = floor_half(usual.front() + usual.back());
  const auto above = static_cast<std::size_t>(
      std::upper_bound(usual.begin(), usual.end(), middle) - usual.begin());
  swing.low = median(usual.first(above));
  swing.high = above < usual.size() ? median(usual.subspan(above)) : swing.low;
  return swing;
}

Result<AnalogueScale> plan_analogue(const AnalogueSwing& swing,
                                    const AnalogueOptions& options) {
  if (options.hysteresis && options.hysteresis->sign() < 0) {
    return failure(ErrorCode::kUsage,
                   "found a negative hysteresis, expected zero or more");
  }
  AnalogueScale scale;
  scale.place = swing.place;
  scale.automatic_threshold = !options.threshold;
  scale.automatic_hysteresis = !options.hysteresis;
  const auto threshold = options.threshold
                             ? on_grid(*options.threshold, swing.place)
                             : swing.middle();
  if (!threshold && !options.threshold) {
    return failure(ErrorCode::kBadData,
                   "found only the value " +
                       analogue_text(swing.low, swing.place) +
                       " in the first rows, expected two levels",
                   "say where low turns to high with --threshold VOLTS");
  }
  const auto hysteresis = options.hysteresis
                              ? on_grid(*options.hysteresis, swing.place)
                              : (swing.high - swing.low) / kHysteresisPart;
  if (!threshold || !hysteresis) {
    return failure(ErrorCode::kUsage,
                   "found a threshold or hysteresis with too many digits, "
                   "expected at most 34 more than the values have before them",
                   "write it with fewer digits");
  }
  scale.threshold = *threshold;
  scale.hysteresis = *hysteresis;
  // Both rounded to the values that satisfy the comparison.
  scale.high_from =
      scale.threshold + (scale.hysteresis - floor_half(scale.hysteresis));
  scale.low_to =
      scale.threshold - (scale.hysteresis - floor_half(scale.hysteresis));
  return scale;
}

std::optional<LevelEvent> AnalogueTrack::take(const AnalogueScale& scale,
                                              Ticks time, Int128 value) {
  if (!seen_) {
    seen_ = true;
    least_ = greatest_ = value;
  } else {
    least_ = std::min(least_, value);
    greatest_ = std::max(greatest_, value);
  }
  if (joined_) {
    longest_step_ = std::max(longest_step_, time - time_);
    if ((value_ >= scale.threshold) != (value >= scale.threshold)) {
      crossing_ = crossing_time(time_, value_, time, value, scale.threshold);
    }
  }
  joined_ = true;
  time_ = time;
  value_ = value;
  Level now = level_;
  if (value >= scale.high_from) {
    now = Level::kHigh;
  } else if (value <= scale.low_to) {
    now = Level::kLow;
  }
  if (now == level_) return std::nullopt;
  const bool turns = level_ != Level::kUnknown;
  level_ = now;
  has_turned_ = has_turned_ || turns;
  return LevelEvent{turns ? crossing_ : time, now};
}

void AnalogueTrack::save(std::vector<std::int64_t>& numbers) const {
  numbers.push_back((seen_ ? 1 : 0) + (has_turned_ ? 2 : 0) +
                    (joined_ ? 4 : 0));
  numbers.push_back(static_cast<std::int64_t>(level_));
  numbers.push_back(time_.count());
  numbers.push_back(crossing_.count());
  numbers.push_back(longest_step_.count());
  for (const Int128 value : {value_, least_, greatest_}) put(numbers, value);
}

AnalogueTrack AnalogueTrack::load(std::span<const std::int64_t>& numbers) {
  AnalogueTrack track;
  const std::int64_t flags = take_one(numbers);
  track.seen_ = (flags & 1) != 0;
  track.has_turned_ = (flags & 2) != 0;
  track.joined_ = (flags & 4) != 0;
  track.level_ = static_cast<Level>(take_one(numbers));
  track.time_ = Ticks(take_one(numbers));
  track.crossing_ = Ticks(take_one(numbers));
  track.longest_step_ = Ticks(take_one(numbers));
  track.value_ = take_two(numbers);
  track.least_ = take_two(numbers);
  track.greatest_ = take_two(numbers);
  return track;
}

}  // namespace clockassay
