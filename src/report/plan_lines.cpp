// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/plan_lines.h"

#include <cmath>

#include "clockassay/base/number_text.h"
#include "clockassay/oscillator/typical_crystal.h"
#include "report/number_format.h"

namespace clockassay {

void say_cautions(PlanKind kind, TextLayout& out) {
  for (const std::string& caution : plan_cautions(kind)) {
    out.labelled("caution", caution);
  }
}

std::string path_hertz(double value) {
  // What no decimal ends is told to a tenth of a ppm.
  constexpr double kPlace = 1e-6;
  const std::string whole = nominal_frequency(value);
  constexpr std::size_t kShort = 13;
  return whole.size() <= kShort ? whole : frequency_to(value, kPlace * value);
}

std::string path_difference(double ppm) {
  // Beyond a per cent nobody counts in ppm.
  constexpr double kPpmPerCent = 1e4;
  constexpr int kDigits = 6;
  const std::string sign = ppm > 0.0 ? "+" : "";
  if (std::abs(ppm) < kPpmPerCent)
    return sign + number_text(ppm, kDigits) + " ppm";
  return sign + number_text(ppm / kPpmPerCent, kDigits) + " %";
}

std::string odd_ratio_words(std::optional<Farads> c0,
                            std::optional<Farads> c1) {
  if (!c0 || !c1 || is_usual_ratio(*c0, *c1)) return "";
  return "; C0/C1 of " + number_to_digits(c0->value() / c1->value(), 2) +
         " is no crystal's: those published lie from 180 to 500, of third "
         "overtones up to 4500, of tuning forks from 75. Look at the units";
}

const char* board_gain_words(BoardGainOf of) {
  switch (of) {
    case BoardGainOf::kAsFitted:
      return "as fitted";
    case BoardGainOf::kWithoutResistor:
      return "without a resistor";
    case BoardGainOf::kIdealAmplifier:
      return "ideal amplifier, at most";
  }
  return "";
}

std::string capacitors(const CapacitorPair& pair) {
  if (!((pair.a + pair.b).value() > 0.0)) return "none";
  const auto one = [](Farads c) {
    return c.value() > 0.0 ? nominal_quantity(c.value(), "F")
                           : std::string("none");
  };
  const std::string a = one(pair.a);
  const std::string b = one(pair.b);
  return unbroken(a == b ? "two of " + a : a + " and " + b);
}

std::string farads(Farads value) {
  return unbroken(nominal_quantity(value.value(), "F"));
}

}  // namespace clockassay
