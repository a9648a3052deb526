// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/oscillator/oscillator_gain.h"

#include <cmath>
#include <complex>

#include "clockassay/oscillator/load_network.h"

namespace clockassay {
namespace {

constexpr double kTwoPi = 6.28318530717958647693;

double omega(Hertz frequency) {
  return kTwoPi * frequency.value();
}

Farads series_of(const OscillatorLegs& legs) {
  return load_of({legs.input, legs.output}, Stray{});
}

Farads beside(Farads c0, const OscillatorLegs& legs) {
  return c0 + legs.across;
}

}  // namespace

OscillatorLegs equal_legs(Farads load) {
  return {2.0 * load, 2.0 * load};
}

Farads load_of_legs(const OscillatorLegs& legs) {
  return series_of(legs) + legs.across;
}

Ohms load_resonance_resistance(Ohms r1, Farads c0, Farads load) {
  const double more = 1.0 + c0 / load;
  return more * more * r1;
}

Ohms leg_resistance(Ohms r1, Farads c0, const OscillatorLegs& legs) {
  return load_resonance_resistance(r1, beside(c0, legs), series_of(legs));
}

Siemens critical_transconductance(Hertz frequency, Ohms r1, Farads c0,
                                  const OscillatorLegs& legs) {
  const double w_all = omega(frequency) * (c0 + load_of_legs(legs)).value();
  const double sum = (legs.input + legs.output).value();
  const double unequal =
      sum * sum / (4.0 * legs.input.value() * legs.output.value());
  return Siemens(4.0 * r1.value() * w_all * w_all * unequal);
}

Ohms negative_resistance(Hertz frequency, Siemens gm, Farads c0,
                         const OscillatorLegs& legs) {
  const double w = omega(frequency);
  const double g =
      gm.value() / (w * legs.input.value()) / (w * legs.output.value());
  const double a = 1.0 + beside(c0, legs) / series_of(legs);
  const double b = w * beside(c0, legs).value() * g;
  return Ohms(g / (a * a + b * b));
}

Ohms negative_resistance_behind(Hertz frequency, Siemens gm, Farads c0,
                                const OscillatorLegs& legs,
                                const OutputPath& path) {
  using Complex = std::complex<double>;
  const Complex jw(0.0, omega(frequency));
  const double away = (path.output + path.series).value();
  const double drive = gm.value() * path.output.value() / away;
  const Complex in = jw * legs.input.value();
  const Complex out = jw * legs.output.value() + 1.0 / away;
  const Complex loop = 1.0 / in + 1.0 / out + drive / (in * out);
  return Ohms(-(loop / (1.0 + jw * beside(c0, legs).value() * loop)).real());
}

std::optional<Siemens> critical_behind(Hertz frequency, Ohms r1, Siemens gm,
                                       Farads c0, const OscillatorLegs& legs,
                                       const OutputPath& path) {
  const auto starts = [&](double part) {
    return negative_resistance_behind(frequency, part * gm, c0, legs, path) >
           r1;
  };
  if (!starts(1.0)) return std::nullopt;
  double low = 0.0;
  double high = 1.0;
  constexpr int kHalvings = 50;  // to the last bits of a double
  for (int i = 0; i < kHalvings; ++i) {
    const double middle = 0.5 * (low + high);
    (starts(middle) ? high : low) = middle;
  }
  return high * gm;
}

Siemens best_transconductance(Hertz frequency, Farads c0,
                              const OscillatorLegs& legs) {
  const double w = omega(frequency);
  const double a = 1.0 + beside(c0, legs) / series_of(legs);
  return Siemens(w * legs.input.value() * legs.output.value() * a /
                 beside(c0, legs).value());
}

Ohms most_negative_resistance(Hertz frequency, Farads c0,
                              const OscillatorLegs& legs) {
  const double a = 1.0 + beside(c0, legs) / series_of(legs);
  return Ohms(0.5 / (a * omega(frequency) * beside(c0, legs).value()));
}

std::optional<StartingGain> starting_gain(Hertz frequency, Ohms r1, Farads c0,
                                          const OscillatorLegs& legs) {
  const double part = r1 / most_negative_resistance(frequency, c0, legs);
  if (!(part < 1.0)) return std::nullopt;
  const double w = omega(frequency);
  const double legs_s2 = w * legs.input.value() * w * legs.output.value();
  const double a = 1.0 + beside(c0, legs) / series_of(legs);
  const double b = w * beside(c0, legs).value();
  const double both = 1.0 + std::sqrt((1.0 - part) * (1.0 + part));
  // The product of the two is (A/(w C3))².
  return StartingGain{Siemens(2.0 * r1.value() * a * a / both * legs_s2),
                      Siemens(both / (2.0 * r1.value() * b * b) * legs_s2)};
}

Henries motional_inductance(Hertz series_resonance, Farads c1) {
  const double w = omega(series_resonance);
  return Henries(1.0 / (w * w * c1.value()));
}

Seconds growth_time(Henries l1, Ohms r1, Ohms negative) {
  return Seconds(2.0 * l1.value() / (negative - r1).value());
}

}  // namespace clockassay
