// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "clockassay/base/result.h"
#include "clockassay/base/units.h"
#include "clockassay/drift/assay.h"
#include "clockassay/drift/next_temperature.h"
#include "clockassay/drift/part.h"
#include "clockassay/drift/range_verdict.h"
#include "clockassay/drift/temperature_log.h"
#include "clockassay/oscillator/clock_path.h"
#include "clockassay/uncertainty/timebase.h"
#include "clockassay/verdict/verdict.h"

namespace clockassay {

/// A warning as a result carries it, perhaps one that is stored.
struct PointWarning {
  std::string code;  ///< as reports print it
  std::string message;
  bool forbids_pass = false;
  bool forbids_fail = false;
};

/// Where and at which temperature something was seen.
struct PointPlace {
  std::string source;     ///< a capture or stored result; empty: the series
  std::int64_t line = 0;  ///< of the series; 0: it has none
  std::optional<TimeWindow> window;  ///< of a capture that was cut
  std::string board;
  double temperature_c = 0.0;
  std::optional<double> u_temperature_c;  ///< absent: not stated
  std::optional<double> time_s;
  Sweep sweep = Sweep::kNotStated;
};

/// A clock at one temperature.
struct TemperaturePoint {
  PointPlace place;
  Hertz frequency;       ///< the offset of the timebase applied
  std::optional<Ppm> u;  ///< of the point alone, k = 1; absent: not stated
  Timebase timebase;     ///< that it was measured by
  Ppm half_width;        ///< what that leaves open, of the frequency itself
  /// Half of the last digit it is written to, where that is all there is.
  Ppm rounding{0.0};
  std::vector<PointWarning> warnings;
  bool is_stored = false;  ///< of a stored result, which kept its timebase
  /// The capture that was measured, where that is known; of a stored result as
  /// it names it.
  std::string capture;
};

/// A point that others at its temperature contradict: in no figure.
struct OutvotedPoint {
  TemperaturePoint point;
  double off_ppm = 0.0;  ///< from the curve of the others
};

/// A temperature at which there was no clock.
struct SilentPoint {
  PointPlace place;
  bool constant = false;  ///< its level never changed, as far as is known
  std::string finding;    ///< in words
  /// How long it was looked at; absent: long enough for any clock.
  std::optional<double> lasted_s = {};
};

/// All of a series that could be read.
struct MeasuredSeries {
  std::string path;
  std::optional<std::string> channel;
  std::vector<TemperaturePoint> points;
  std::vector<SilentPoint> silent;
  std::vector<PointPlace> lost;      ///< could not be used; errors say why
  std::vector<std::string> caveats;  ///< about the series as a whole
  /// One long capture whose temperature went one way: a lag cannot show.
  bool one_way = false;
  /// Of the one thermometer of a log, the largest stated, k = 1, kelvin.
  std::optional<double> log_u_k;
};

/// What a series is asked for.
struct DriftQuestion {
  std::optional<ClockPath> expect;         ///< absent: relative to 25 degC
  std::optional<ToleranceBand> tolerance;  ///< with range: a verdict
  std::optional<Span> range;               ///< absent: what was measured
  /// Of the instrument, from one capture to another; absent: not stated.
  std::optional<Ppm> stability;
  /// Half-width of what the thermometer reads wrong alike, kelvin; absent: not
  /// stated.
  std::optional<double> thermometer_k;
  /// The most that the clock ages between any two points; absent: not stated.
  std::optional<Ppm> ageing_limit;
  double coverage = 0.95;
};

/// How the instrument's own clock is in the points.
struct SharedTimebase {
  InstrumentTerms terms;
  Timebase timebase;   ///< where it is one
  bool is_one = true;  ///< else of any pattern, within the stability
  bool stability_stated = false;
  /// Taken for one, but stored results assume theirs, each for itself.
  bool assumed_one = false;
};

/// The curve of one board, and what follows from it.
struct DriftResult {
  std::string series;
  std::string board;  ///< empty: not named
  std::optional<std::string> channel;
  DriftQuestion question;
  SharedTimebase shared;
  Hertz reference;                       ///< what errors are told against
  std::vector<TemperaturePoint> points;  ///< as in assay.points
  std::vector<OutvotedPoint> outvoted;   ///< and so not in points
  std::vector<SilentPoint> silent;
  std::vector<PointPlace> lost;
  bool one_way = false;  ///< as of the series
  /// Where the thermometer's common error is from.
  enum class Thermometer { kNotStated, kStated, kOfLog };
  Thermometer thermometer = Thermometer::kNotStated;
  std::optional<DriftAssay> assay;  ///< absent: no curve
  Span range;                       ///< asked for, or measured
  bool extrapolated = false;
  std::optional<BandPlace> worst;
  std::optional<BandPlace> worst_unmarked;  ///< without the marked points
  std::vector<BandPlace> band;              ///< over the range
  std::vector<BandPlace> curve;             ///< of it a few temperatures
  PartFinding part;
  std::vector<NextTemperature> next;    ///< the best first
  std::optional<RangeVerdict> verdict;  ///< of the curve alone, if asked for
  /// What no uncertainty holds because nothing states it, in a word or two.
  std::vector<std::string> assumed;
  std::vector<std::string> caveats;
};

}  // namespace clockassay
