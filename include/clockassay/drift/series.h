// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "clockassay/base/units.h"

namespace clockassay {

/// The way the temperature was going when a point was taken.
enum class Sweep { kNotStated, kUp, kDown };

/// A clock at one temperature. Temperatures are plain degrees Celsius, because
/// powers of them make units of which no two are alike.
struct DriftPoint {
  double temperature_c = 0.0;
  double u_temperature_c = 0.0;  ///< k = 1, independent from point to point
  Ppm error{0.0};                ///< of the clock, positive is fast
  /// Of the capture alone, k = 1, independent from point to point; absent: not
  /// stated, the scatter about the curve has to tell.
  std::optional<Ppm> u;
  std::optional<double> time_s;  ///< on any one scale, such as since power-on
  Sweep sweep = Sweep::kNotStated;
  std::string board;
};

/// What the instrument's own clock adds to the points.
struct InstrumentTerms {
  /// Half-width of what shifts every point alike; rectangular. 100 ppm where
  /// nothing is stated, as of every timebase.
  Ppm common{100.0};
  /// Half-width of what differs between one capture and the next: warm-up, the
  /// temperature of the room. In any pattern, so also one that goes with the
  /// temperature of the board. 1 ppm: assumed, as for comparisons.
  Ppm stability{1.0};
  /// Half-width in kelvin of what the thermometer reads wrong alike at every
  /// point; rectangular. It moves the curve along the temperatures.
  double thermometer_k = 0.0;
  /// Half-width of what the clock ages between any two of the points, where it
  /// is stated: then ageing is not looked for in the curve, and this is, in any
  /// pattern, as the stability is.
  std::optional<Ppm> ageing = {};
};

/// The points of one board.
struct BoardPoints {
  std::string board;
  std::vector<DriftPoint> points;  ///< in the order given
};

/// Points apart by board, boards in the order they first appear: two crystals
/// have two curves.
std::vector<BoardPoints> points_by_board(std::span<const DriftPoint> points);

}  // namespace clockassay
