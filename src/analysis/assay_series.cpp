// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/analysis/assay_series.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <set>
#include <utility>

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

bool within(double temperature_c, const Span& span) {
  return temperature_c >= span.low_c && temperature_c <= span.high_c;
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

// What is said of the temperatures' own errors.
void add_thermometer(const DriftResult& result,
                     std::vector<std::string>& said) {
  const auto& points = result.points;
  const auto lacking =
      std::count_if(points.begin(), points.end(), [](const auto& p) {
        return !(p.place.u_temperature_c.value_or(0.0) > 0.0);
      });
  if (lacking == static_cast<std::ptrdiff_t>(points.size())) {
    said.push_back(
        "No uncertainty of the temperatures is stated: they are taken as "
        "exact.");
  } else if (lacking > 0) {
    said.push_back("Of " + std::to_string(lacking) + " of " +
                   std::to_string(points.size()) +
                   " temperatures no uncertainty is stated: they are taken as "
                   "exact.");
  }
  using Thermometer = DriftResult::Thermometer;
  if (result.thermometer == Thermometer::kNotStated) {
    said.push_back(
        "What the thermometer reads wrong alike at all temperatures is not in "
        "U, because nothing states it: it moves the whole curve. State its "
        "tolerance with --thermometer, such as 0.5K.");
  } else if (result.thermometer == Thermometer::kOfLog) {
    said.push_back("The log is of one thermometer: twice its stated u, ±" +
                   shown(result.shared.terms.thermometer_k) +
                   " K, counts as what it may read wrong alike throughout. "
                   "State its tolerance with --thermometer if it is another.");
  }
}

void add_timebase(const DriftResult& result, std::vector<std::string>& said) {
  if (!result.shared.is_one) {
    said.push_back(
        "The points were measured by several timebases: each may be off by "
        "what is stated of it, in any pattern, so nothing of it cancels.");
  }
  if (result.shared.assumed_one) {
    said.push_back(
        "The stored results do not state their timebase: they are taken for "
        "those of one instrument. If they are, say so with --timebase; there "
        "is no pass without.");
  }
  if (result.shared.timebase.kind == TimebaseKind::kReference &&
      result.shared.is_one) {
    said.push_back(
        "Measured against a reference channel: how far that moves between "
        "points is not stated, ±" +
        shown(result.shared.terms.stability.value()) +
        " ppm is assumed. The instrument's own stability is no matter.");
  }
}

// So far off is no clock of this part, but another.
void add_gross(const DriftResult& result, std::vector<std::string>& said) {
  constexpr double kGross = 1e5;  // ppm; chosen: ten times an RC oscillator's
  if (!result.question.expect) return;
  if (!(std::abs(result.worst->error.value) >= kGross)) return;
  said.push_back("The clock is " +
                 shown(std::abs(result.worst->error.value) * 1e-4) +
                 " % off what is expected: check the expected frequency "
                 "(--expect), and which clock was recorded.");
}

void add_gap(const DriftResult& result, std::vector<std::string>& said) {
  std::vector<double> at;
  for (const TemperaturePoint& p : result.points) {
    at.push_back(p.place.temperature_c);
  }
  std::sort(at.begin(), at.end());
  std::size_t widest = 1;
  for (std::size_t i = 1; i < at.size(); ++i) {
    if (at[i] - at[i - 1] > at[widest] - at[widest - 1]) widest = i;
  }
  // Chosen: a curve over three points has gaps of a half.
  const double whole = at.back() - at.front();
  if (!(at[widest] - at[widest - 1] > whole / 3.0) || at.size() < 4) return;
  said.push_back("Nothing was measured between " + shown(at[widest - 1]) +
                 " and " + shown(at[widest]) +
                 " degC: a dip there, as crystals may have, would not show.");
}

void add_caveats(DriftResult& result) {
  std::vector<std::string>& said = result.caveats;
  add_thermometer(result, said);
  add_timebase(result, said);
  if (!result.question.expect &&
      !within(kDatumTemperature, result.assay->measured)) {
    said.push_back("Errors are relative to the curve at " +
                   shown(kDatumTemperature) +
                   " degC, which lies beyond what was measured.");
  }
  add_gross(result, said);
  add_gap(result, said);
  said.insert(said.end(), result.assay->caveats.begin(),
              result.assay->caveats.end());
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

void fit_board(const MeasuredSeries& series, DriftResult& result,
               std::vector<Error>& errors) {
  result.shared = shared_timebase(result.points, result.question.stability);
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
  add_rounding(result);
  auto assay = result.question.expect ? assay_against(result, result.reference)
                                      : assay_relative(result);
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
  add_caveats(result);
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
