// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/oscillator/crystal_drive.h"

#include <cmath>

namespace clockassay {
namespace {

constexpr double kTwoPi = 6.28318530717958647693;

// Of a sine: peak to peak over rms.
const double kPeakToPeakOverRms = 2.0 * std::sqrt(2.0);

double susceptance(Hertz frequency, Farads leg) {
  return kTwoPi * frequency.value() * leg.value();
}

}  // namespace

Amperes crystal_current_rms(Hertz frequency, Volts swing, Farads leg) {
  return Amperes(susceptance(frequency, leg) * swing.value() /
                 kPeakToPeakOverRms);
}

Watts drive_power(Ohms rl, Amperes current_rms) {
  return Watts(rl.value() * current_rms.value() * current_rms.value());
}

Amperes largest_current(Watts limit, Ohms rl) {
  return Amperes(kPeakToPeakOverRms * std::sqrt(limit.value() / rl.value()));
}

Volts swing_for_current(Hertz frequency, Amperes current, Farads leg) {
  return Volts(current.value() / susceptance(frequency, leg));
}

Ohms series_resistor_start(Hertz frequency, Farads leg) {
  return Ohms(1.0 / susceptance(frequency, leg));
}

double series_resistor_ratio(Hertz frequency, Ohms series, Ohms rl,
                             Farads leg) {
  const double b = susceptance(frequency, leg);
  return 1.0 / (1.0 + series.value() * rl.value() * b * b);
}

std::optional<Ohms> series_resistor_for(Hertz frequency, Watts without,
                                        Watts limit, Ohms rl, Farads leg) {
  if (!(without > limit)) return std::nullopt;
  const double b = susceptance(frequency, leg);
  return Ohms((std::sqrt(without / limit) - 1.0) / (rl.value() * b * b));
}

}  // namespace clockassay
