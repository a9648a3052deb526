// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/oscillator/load_network.h"

#include <cmath>

namespace clockassay {
namespace {

Farads in_series(Farads a, Farads b) {
  const Farads sum = a + b;
  if (!(sum.value() > 0.0)) return Farads(0.0);
  return (a / sum) * b;
}

// d(series)/da = (b/(a+b))^2
double share(Farads a, Farads b) {
  const Farads sum = a + b;
  if (!(sum.value() > 0.0)) return 0.0;
  return (b / sum) * (b / sum);
}

}  // namespace

Farads load_of(const CapacitorPair& capacitors, const Stray& stray) {
  return in_series(capacitors.a + stray.pin_a, capacitors.b + stray.pin_b) +
         stray.across;
}

LoadSpread load_spread(const CapacitorPair& capacitors, const Stray& stray,
                       double tolerance) {
  const Farads leg_a = capacitors.a + stray.pin_a;
  const Farads leg_b = capacitors.b + stray.pin_b;
  const double by_a = share(leg_a, leg_b) * tolerance * capacitors.a.value();
  const double by_b = share(leg_b, leg_a) * tolerance * capacitors.b.value();
  return {Farads(by_a + by_b), Farads(std::hypot(by_a, by_b) / std::sqrt(3.0))};
}

Farads stray_across_for(const CapacitorPair& capacitors, Farads load) {
  return load - in_series(capacitors.a, capacitors.b);
}

Farads stray_per_pin_for(const CapacitorPair& capacitors, Farads load) {
  const double half_difference = 0.5 * (capacitors.a - capacitors.b).value();
  const double mean = 0.5 * (capacitors.a + capacitors.b).value();
  return Farads(load.value() - mean +
                std::hypot(half_difference, load.value()));
}

}  // namespace clockassay
