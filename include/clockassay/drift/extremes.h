// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <vector>

#include "clockassay/drift/choice.h"

namespace clockassay {

/// A temperature at which the chosen curve is level.
struct Turnover {
  double temperature_c = 0.0;
  /// Where the slope may be zero at the coverage of the fit; an end is absent
  /// where none was found within a span of the points beyond them.
  std::optional<double> low_c;
  std::optional<double> high_c;
  Stated error;           ///< of the mean curve there
  bool maximum = false;   ///< fastest there; else slowest
  bool measured = false;  ///< within the span of the points
};

/// The turnovers within one span of the points beyond them, by temperature.
/// Source: docs/drift.md#turnovers-and-worst-case
std::vector<Turnover> curve_turnovers(const CurveChoice& choice, Span measured);

/// The curve at one temperature of a range, for one branch.
struct BandPlace {
  double temperature_c = 0.0;
  Sweep branch = Sweep::kNotStated;
  Stated error;
  /// U of one more reading there: the prediction band; 0 where not asked for.
  double reading_expanded = 0.0;
};

/// The band over a range, at its ends, at turnovers and between, for both
/// branches where there are two. By temperature, up before down.
/// In:     with_reading  ask for the prediction band, too
std::vector<BandPlace> band_over(const CurveChoice& choice, Span range,
                                 std::optional<double> relative_to_c,
                                 bool with_reading = false);

/// The band at one temperature: a place for each branch.
std::vector<BandPlace> band_at(const CurveChoice& choice, double temperature_c,
                               std::optional<double> relative_to_c,
                               bool with_reading = false);

/// Of a band that is not empty, where the error is largest either way; its U
/// holds how much larger the band leaves open that it is elsewhere.
BandPlace worst_of(const std::vector<BandPlace>& band);

/// Seconds a clock gains in a day that is off by so much.
constexpr double seconds_per_day(Ppm error) {
  return error.value() * kSecondsPerDay * 1e-6;
}

}  // namespace clockassay
