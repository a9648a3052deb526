// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/estimate/seen_length.h"

#include <cmath>
#include <numbers>

namespace clockassay {
namespace {

// The integral of the normal distribution's upper tail from x on.
double tail_beyond(double x) {
  const double density =
      std::exp(-0.5 * x * x) / std::sqrt(2.0 * std::numbers::pi);
  return density - 0.5 * x * std::erfc(x / std::numbers::sqrt2);
}

}  // namespace

double chance_seen_off(double off, double sigma) {
  return sigma * (tail_beyond((off - 1.0) / sigma) - tail_beyond(off / sigma));
}

}  // namespace clockassay
