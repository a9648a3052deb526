// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/oscillator/typical_crystal.h"

#include <cmath>

namespace clockassay {
namespace {

struct Span {
  double low;
  double high;
};

// Fundamental AT cut. C1: 5 to 30 fF is usual, 4 fF is typical of the smallest
// in a data sheet; its lower end is half of that (chosen). C0/C1: published
// ones lie from 184 to 250, with a case beside a small plate up to 375; the
// upper end is chosen beyond.
constexpr Span kAtC1{2e-15, 30e-15};
constexpr Span kAtRatio{180.0, 500.0};

// Tuning forks, 32.768 to 77.5 kHz, data sheets and application notes.
constexpr Span kForkC1{1.35e-15, 8e-15};
constexpr Span kForkC0{0.6e-12, 2e-12};

// Along each border; the functions it is for are smooth and change by a factor
// of a few over it.
constexpr int kSteps = 64;

double middle_of(const Span& span) {
  return std::sqrt(span.low * span.high);
}

// From low to high in equal factors.
std::vector<double> steps_through(const Span& span) {
  if (span.low == span.high) return {span.low};
  std::vector<double> values;
  const double factor = std::log(span.high / span.low) / kSteps;
  for (int i = 0; i < kSteps; ++i) {
    values.push_back(span.low * std::exp(factor * i));
  }
  values.push_back(span.high);
  return values;
}

Span exactly(Farads value) {
  return {value.value(), value.value()};
}

CrystalRange at_cut(std::optional<Farads> c0, std::optional<Farads> c1) {
  CrystalRange range;
  const double ratio = middle_of(kAtRatio);
  if (c0) {
    const Span span{c0->value() / kAtRatio.high, c0->value() / kAtRatio.low};
    range.middle = {Farads(c0->value() / ratio), *c0};
    for (const double c : steps_through(span)) {
      range.outline.push_back({Farads(c), *c0});
    }
    range.assumed = {"C0/C1 from 180 to 500, as of a fundamental AT cut"};
    return range;
  }
  const Span span = c1 ? exactly(*c1) : kAtC1;
  range.middle = {Farads(middle_of(span)), Farads(ratio * middle_of(span))};
  for (const double c : steps_through(span)) {
    range.outline.push_back({Farads(c), Farads(kAtRatio.low * c)});
    range.outline.push_back({Farads(c), Farads(kAtRatio.high * c)});
  }
  if (!c1) range.assumed.push_back("C1 from 2 to 30 fF");
  range.assumed.push_back("C0/C1 from 180 to 500, as of a fundamental AT cut");
  return range;
}

CrystalRange fork(std::optional<Farads> c0, std::optional<Farads> c1) {
  CrystalRange range;
  const Span c0_span = c0 ? exactly(*c0) : kForkC0;
  const Span c1_span = c1 ? exactly(*c1) : kForkC1;
  range.middle = {Farads(middle_of(c1_span)), Farads(middle_of(c0_span))};
  for (const double c : steps_through(c1_span)) {
    range.outline.push_back({Farads(c), Farads(c0_span.low)});
    range.outline.push_back({Farads(c), Farads(c0_span.high)});
  }
  if (!c1) range.assumed.push_back("C1 from 1.35 to 8 fF, as of a tuning fork");
  if (!c0) range.assumed.push_back("C0 from 0.6 to 2 pF, as of a tuning fork");
  return range;
}

}  // namespace

CrystalRange crystal_range(std::optional<Farads> c0, std::optional<Farads> c1,
                           Hertz source) {
  if (c0 && c1) return {{*c1, *c0}, {{*c1, *c0}}, {}};
  return source < kForksBelow ? fork(c0, c1) : at_cut(c0, c1);
}

bool is_usual_ratio(Farads c0, Farads c1) {
  constexpr double kOfThirdOvertone = 9.0;
  const double ratio = c0.value() / c1.value();
  // A hair, for values rounded in data sheets.
  constexpr double kRounded = 1.001;
  return kRounded * ratio >= kForkC0.low / kForkC1.high &&
         ratio <= kRounded * kOfThirdOvertone * kAtRatio.high;
}

}  // namespace clockassay
