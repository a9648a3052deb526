// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/capture/stamp_digits.h"

#include <algorithm>

namespace clockassay {
namespace {

// Powers of ten a stamp can have: ticks are below 2^62.
constexpr int kGreatestPlace = 18;

}  // namespace

void StampDigits::add(std::optional<int> first, int last) {
  finest_place_ = std::min(finest_place_.value_or(last), last);
  if (!first) return;
  greatest_place_ = std::max(greatest_place_.value_or(*first), *first);
  most_digits_ = std::max(most_digits_, *first - last + 1);
}

void StampDigits::merge(const StampDigits& other) {
  if (!other.finest_place_) return;
  finest_place_ = std::min(finest_place_.value_or(*other.finest_place_),
                           *other.finest_place_);
  if (!other.greatest_place_) return;
  greatest_place_ = std::max(greatest_place_.value_or(*other.greatest_place_),
                             *other.greatest_place_);
  most_digits_ = std::max(most_digits_, other.most_digits_);
}

std::int64_t StampDigits::resolution_ticks() const {
  if (!greatest_place_) return 1;
  const int place =
      std::clamp(std::max(*finest_place_, *greatest_place_ - most_digits_ + 1),
                 0, kGreatestPlace);
  std::int64_t ticks = 1;
  for (int i = 0; i < place; ++i) ticks *= 10;
  return ticks;
}

}  // namespace clockassay
