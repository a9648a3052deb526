// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <doctest/doctest.h>

#include <functional>
#include <vector>

#include "clockassay/drift/assay.h"

namespace clockassay::testing {

constexpr InstrumentTerms kPerfectInstrument{Ppm(0.0), Ppm(0.0)};

/// Points of a curve at evenly spaced temperatures, without any noise.
inline std::vector<DriftPoint> points_on(
    const std::function<double(double)>& curve, double low_c, double high_c,
    int count, std::optional<Ppm> u) {
  std::vector<DriftPoint> points(static_cast<std::size_t>(count));
  for (int i = 0; i < count; ++i) {
    DriftPoint& p = points[static_cast<std::size_t>(i)];
    p.temperature_c = low_c + (high_c - low_c) * i / (count - 1);
    p.error = Ppm(curve(p.temperature_c));
    p.u = u;
  }
  return points;
}

inline DriftAssay assay_of(
    const std::vector<DriftPoint>& points,
    const InstrumentTerms& instrument = kPerfectInstrument) {
  auto assay = assay_drift(points, instrument, 0.95);
  REQUIRE(assay);
  return *assay;
}

}  // namespace clockassay::testing
