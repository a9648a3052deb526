// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/analysis/assay_series.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <set>
#include <utility>

#include "analysis/drift_caveats.h"
#include "base/median.h"
#include "clockassay/base/number_text.h"

namespace clockassay {
namespace {

constexpr double kPpm = 1e-6;

bool same_timebase(const TemperaturePoint& a, const TemperaturePoint& b) {
  // By a reference each capture's offset is taken off, so its own tolerance is
  // what is left, and that of one reference is one.
  if (a.timebase.kind == TimebaseKind::kReference ||
      b.timebase.kind == TimebaseKind::kReference) {
    return a.timebase.kind == b.timebase.kind &&
           std::abs(a.half_width.value() - b.half_width.value()) <=
               1e-9 * a.half_width.value();
  }
  return a.timebase.offset.value() == b.timebase.offset.value() &&
         a.timebase.tolerance.value() == b.timebase.tolerance.value();
}

DriftPoint drift_point(const TemperaturePoint& p, Hertz reference) {
  const double ratio = p.frequency / reference;
  DriftPoint point;
  point.temperature_c = p.place.temperature_c;
  point.u_temperature_c = p.place.u_temperature_c.value_or(0.0);
  // The difference first: a quotient near one loses digits.
  point.error =
      Ppm((p.frequency - reference).value() / reference.value() / kPpm);
  if (p.u) point.u = Ppm(p.u->value() * ratio);
  point.time_s = p.place.time_s;
  point.sweep = p.place.sweep;
  point.board = p.place.board;
  return point;
}

Result<DriftAssay> assay_against(const DriftResult& result, Hertz reference) {
  std::vector<DriftPoint> points;
  for (const TemperaturePoint& p : result.points) {
    points.push_back(drift_point(p, reference));
  }
  return assay_drift(points, result.shared.terms, result.question.coverage);
}

// Where no frequency is expected: such that the curve is zero at the datum.
Result<DriftAssay> assay_relative(DriftResult& result) {
  std::vector<double> frequencies;
  for (const TemperaturePoint& p : result.points) {
    frequencies.push_back(p.frequency.value());
  }
  result.reference = Hertz(median(frequencies));
  auto assay = assay_against(result, result.reference);
  if (!assay) return assay;
  CurvePlace datum;
  datum.temperature_c = kDatumTemperature;
  const double off = curve_at(assay->choice, datum).value;
  constexpr double kMost = 1e5;  // ppm: beyond it there is no curve to speak of
  if (!(std::abs(off) < kMost)) {
    return failure(ErrorCode::kBadData,
                   "the curve at " + number_text(kDatumTemperature, 4) +
                       " degC, which errors are relative to, is " +
                       number_text(off, 4) +
                       " ppm off the median of the frequencies, expected "
                       "within 1e5",
                   "state what is expected (--expect); or are these several "
                   "clocks?");
  }
  result.reference = Hertz(result.reference.value() * (1.0 + off * kPpm));
  return assay_against(result, result.reference);
}

Result<DriftAssay> assay_once(DriftResult& result) {
  return result.question.expect ? assay_against(result, result.reference)
                                : assay_relative(result);
}

// Points that others at their temperature contradict are taken out, and the
// rest is assayed anew.
Result<DriftAssay> assay_outvoted(DriftResult& result) {
  auto assay = assay_once(result);
  while (assay) {
    const std::vector<Outlier> out = outvoted_points(*assay);
    if (out.empty()) break;
    for (auto o = out.rbegin(); o != out.rend(); ++o) {
      const auto at =
          result.points.begin() + static_cast<std::ptrdiff_t>(o->point);
      result.outvoted.push_back({*at, o->residual_ppm});
      result.points.erase(at);
    }
    assay = assay_once(result);
  }
  return assay;
}

std::string shown(double value) {
  return number_text(value, 4);
}

std::string board_words(const std::string& board) {
  return board.empty() ? "" : "board \"" + board + "\": ";
}

RangeLimits limits_of(const DriftResult& result) {
  RangeLimits limits;
  limits.range = result.range;
  if (result.question.tolerance) {
    limits.low = Ppm(result.question.tolerance->low_ppm.to_double());
    limits.high = Ppm(result.question.tolerance->high_ppm.to_double());
  }
  if (!result.question.expect) limits.relative_to_c = kDatumTemperature;
  return limits;
}

// The common error of the thermometer. A log is of one thermometer, and most of
// its stated u is that: until it is told apart, all of it counts as such. 2 u:
// chosen, where 95 % of a normal error are.
void set_thermometer(const MeasuredSeries& series, DriftResult& result) {
  using Thermometer = DriftResult::Thermometer;
  constexpr double kBoundOfU = 2.0;
  double& bound = result.shared.terms.thermometer_k;
  if (result.question.thermometer_k) {
    bound = *result.question.thermometer_k;
    result.thermometer = Thermometer::kStated;
  } else if (series.log_u_k) {
    bound = kBoundOfU * *series.log_u_k;
    result.thermometer = Thermometer::kOfLog;
  }
}

// A few temperatures of the band, for those who draw it.
std::vector<BandPlace> thinned(const std::vector<BandPlace>& band) {
  constexpr std::size_t kAbout = 64;
  const std::size_t step = std::max<std::size_t>(1, band.size() / kAbout);
  std::vector<BandPlace> out;
  for (std::size_t i = 0; i < band.size(); ++i) {
    // Both branches of a temperature stand side by side.
    const bool kept = i / 2 % step == 0 || i + 2 >= band.size();
    if (kept) out.push_back(band[i]);
  }
  return out;
}

void read_off(DriftResult& result) {
  const DriftAssay& assay = *result.assay;
  result.range = result.question.range.value_or(assay.measured);
  const RangeLimits limits = limits_of(result);
  auto band = band_over(assay.choice, limits.range, limits.relative_to_c, true);
  result.worst = worst_of(band);
  // Relative to the curve itself, what all points share cancels there, too.
  for (Turnover& t : result.assay->turnovers) {
    const CurvePlace place{t.temperature_c, 0, Sweep::kNotStated,
                           limits.relative_to_c};
    t.error = curve_at(assay.choice, place);
  }
  result.curve = thinned(band);
  result.band = std::move(band);
  const RangeVerdict judged = judge_range(assay, limits);
  result.extrapolated = judged.extrapolated;
  if (result.question.tolerance) result.verdict = judged;
  if (assay.without_outliers) {
    result.worst_unmarked = worst_of(band_over(
        *assay.without_outliers, limits.range, limits.relative_to_c, true));
  }
  result.part = infer_part(
      assay,
      result.question.expect
          ? std::optional(Hertz(result.question.expect->source_hz.to_double()))
          : std::nullopt);
  result.next = next_temperatures(assay, limits);
}

// Scatter does not show what all readings round alike: where no uncertainty is
// stated, or one far below the step they are written in, half of the step
// counts as what differs between points, in any pattern. Zeros at the end may
// be left out, so the finest of a board is its step.
void add_rounding(DriftResult& result) {
  double finest = 0.0;
  double largest_u = 0.0;
  bool u_stated = false;
  for (const TemperaturePoint& p : result.points) {
    const double own = p.rounding.value();
    if (!(own > 0.0)) return;  // a capture: it has no step
    finest = finest > 0.0 ? std::min(finest, own) : own;
    u_stated = u_stated || p.u.has_value();
    if (p.u) largest_u = std::max(largest_u, p.u->value());
  }
  // Of a rectangle of half-width a the standard deviation is a/sqrt(3): a u of
  // that or more may hold it. Chosen: half of it is too small to.
  if (u_stated && largest_u >= 0.5 * finest / std::sqrt(3.0)) return;
  InstrumentTerms& terms = result.shared.terms;
  terms.stability = Ppm(terms.stability.value() + finest);
  constexpr double kWorthSaying = 1e-3;  // ppm
  if (finest < kWorthSaying) return;
  result.caveats.push_back(
      "The frequencies are written in steps of " + shown(2.0 * finest) +
      (u_stated ? " ppm, far more than the u that is stated of them: what that "
                  "rounds, up to "
                : " ppm, and no uncertainty is stated: what that rounds, up "
                  "to ") +
      shown(finest) +
      " ppm, is in U, in any pattern. Write them with more digits.");
}

std::optional<Error> one_temperature(const DriftResult& result) {
  const auto& points = result.points;
  const PointPlace& first = points.front().place;
  const bool differs = std::any_of(
      points.begin(), points.end(), [&first](const TemperaturePoint& p) {
        return p.place.temperature_c != first.temperature_c;
      });
  if (differs) return std::nullopt;
  Error error{ErrorCode::kBadData,
              board_words(result.board) + "found " +
                  (points.size() == 1
                       ? std::string("one point")
                       : std::to_string(points.size()) + " points, all") +
                  " at " + shown(first.temperature_c) +
                  " degC, expected two different temperatures at least",
              "a curve takes two, a verdict over a range five: measure at more "
              "temperatures",
              result.series};
  if (points.back().place.line > 0) error.line = points.back().place.line;
  return error;
}

void fit_board(const MeasuredSeries& series, DriftResult& result,
               std::vector<Error>& errors) {
  result.shared = shared_timebase(result.points, result.question.stability);
  result.shared.terms.ageing = result.question.ageing_limit;
  set_thermometer(series, result);
  if (result.question.expect) {
    result.reference = Hertz(result.question.expect->frequency_hz.to_double());
  }
  if (result.points.empty()) {
    errors.push_back({ErrorCode::kBadData,
                      board_words(result.board) +
                          "no temperature with a clock is left, expected two "
                          "at least",
                      "see what is said of each", result.series});
    return;
  }
  if (const auto error = one_temperature(result)) {
    errors.push_back(*error);
    return;
  }
  add_rounding(result);
  auto assay = assay_outvoted(result);
  if (assay && chosen_fit(*assay).scatter == Scatter::kEstimated &&
      chosen_fit(*assay).dof < 1) {
    // U would be infinite.
    assay = failure(ErrorCode::kBadData,
                    "no uncertainty is stated, and no point is left over to "
                    "tell the scatter by",
                    "state u_hz, or measure at one more temperature");
  }
  if (!assay) {
    Error error = assay.error();
    error.message = board_words(result.board) + error.message;
    error.path = result.series;
    errors.push_back(std::move(error));
    return;
  }
  result.assay = *std::move(assay);
  read_off(result);
  add_drift_caveats(result);
}

// In the order in which boards appear in the series.
std::vector<std::string> boards_of(const MeasuredSeries& series) {
  std::map<std::int64_t, std::string> by_line;
  const auto note = [&](const PointPlace& place) {
    by_line.emplace(place.line, place.board);
  };
  for (const TemperaturePoint& p : series.points) note(p.place);
  for (const SilentPoint& p : series.silent) note(p.place);
  for (const PointPlace& p : series.lost) note(p);
  std::vector<std::string> boards;
  for (const auto& [line, board] : by_line) {
    if (std::find(boards.begin(), boards.end(), board) == boards.end()) {
      boards.push_back(board);
    }
  }
  return boards;
}

}  // namespace

SharedTimebase shared_timebase(const std::vector<TemperaturePoint>& points,
                               std::optional<Ppm> stability) {
  SharedTimebase shared;
  double widest = points.empty() ? shared.terms.common.value() : 0.0;
  for (const TemperaturePoint& p : points) {
    widest = std::max(widest, p.half_width.value());
    shared.is_one = shared.is_one && same_timebase(points.front(), p);
  }
  if (!points.empty()) shared.timebase = points.front().timebase;
  // Frequencies are in terms of the reference then, which has its own clock.
  if (shared.timebase.kind == TimebaseKind::kReference) stability.reset();
  // One capture by itself is by one instrument, and so are those measured now.
  shared.assumed_one =
      shared.is_one && points.size() > 1 &&
      std::any_of(points.begin(), points.end(), [](const TemperaturePoint& p) {
        return p.is_stored && p.timebase.kind == TimebaseKind::kAssumed;
      });
  shared.stability_stated = stability.has_value();
  const double moves = stability ? stability->value()
                                 : std::min(kAssumedStability.value(), widest);
  shared.terms = shared.is_one ? InstrumentTerms{Ppm(widest), Ppm(moves)}
                               : InstrumentTerms{Ppm(0.0), Ppm(widest + moves)};
  return shared;
}

double weight_of_others(const CurveChoice& choice) {
  double sum = 0.0;
  for (const double w : choice.other_weights) sum += w;
  return sum;
}

std::vector<DriftResult> assay_series(const MeasuredSeries& series,
                                      const DriftQuestion& question,
                                      std::vector<Error>& errors) {
  std::vector<DriftResult> results;
  for (const std::string& board : boards_of(series)) {
    DriftResult result;
    result.series = series.path;
    result.board = board;
    result.channel = series.channel;
    result.question = question;
    result.caveats = series.caveats;
    for (const TemperaturePoint& p : series.points) {
      if (p.place.board == board) result.points.push_back(p);
    }
    for (const SilentPoint& p : series.silent) {
      if (p.place.board == board) result.silent.push_back(p);
    }
    for (const PointPlace& p : series.lost) {
      if (p.board == board) result.lost.push_back(p);
    }
    result.one_way = series.one_way;
    fit_board(series, result, errors);
    results.push_back(std::move(result));
  }
  return results;
}

}  // namespace clockassay
