// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/drift_json.h"

#include <algorithm>
#include <cmath>
#include <string>

#include "clockassay/analysis/assay_series.h"
#include "clockassay/base/printable.h"
#include "clockassay/drift/extremes.h"
#include "drift/within_span.h"
#include "report/json_values.h"
#include "report/names.h"

namespace clockassay {
namespace {

using namespace json_values;

Json texts(const std::vector<std::string>& list) {
  Json out = Json::array();
  for (const std::string& s : list) out.push_back(text(s));
  return out;
}

Json span_json(const Span& span) {
  return Json::array({span.low_c, span.high_c});
}

// Infinite where a temperature tells nothing of another: null.
Json finite(double value) {
  return std::isfinite(value) ? Json(value) : Json(nullptr);
}

Json sweep_json(Sweep sweep) {
  return sweep == Sweep::kNotStated ? Json(nullptr) : Json(sweep_name(sweep));
}

Json place_json(const PointPlace& p) {
  return {{"temperature_c", p.temperature_c},
          {"u_temperature_c", number(p.u_temperature_c)},
          {"time_s", number(p.time_s)},
          {"sweep", sweep_json(p.sweep)},
          {"source", raw_or_null(p.source)},
          {"line", p.line > 0 ? Json(p.line) : Json(nullptr)},
          {"from_s", p.window ? Json(p.window->from_s) : Json(nullptr)},
          {"to_s", p.window ? Json(p.window->to_s) : Json(nullptr)}};
}

Json warnings_json(const std::vector<PointWarning>& warnings) {
  Json out = Json::array();
  for (const PointWarning& w : warnings) {
    out.push_back({{"code", text(w.code)},
                   {"message", text(w.message)},
                   {"forbids_pass", w.forbids_pass},
                   {"forbids_fail", w.forbids_fail}});
  }
  return out;
}

// What the curve says of a point, where there is a curve.
Json fitted_json(const DriftResult& r, std::size_t i) {
  if (!r.assay) {
    return {{"error_ppm", nullptr},
            {"standard_uncertainty_ppm", number(r.points[i].u)},
            {"residual_ppm", nullptr},
            {"leverage", nullptr},
            {"outlier", false}};
  }
  const CurveFit& fit = chosen_fit(*r.assay);
  const DriftPoint& point = r.assay->points[i];
  const auto& outliers = r.assay->outliers;
  const bool marked =
      std::any_of(outliers.begin(), outliers.end(),
                  [i](const Outlier& o) { return o.point == i; });
  return {{"error_ppm", point.error.value()},
          {"standard_uncertainty_ppm", number(point.u)},
          {"residual_ppm", fit.residual[i]},
          {"leverage", fit.leverage[i]},
          {"outlier", marked}};
}

Json points_json(const DriftResult& r) {
  Json out = Json::array();
  for (std::size_t i = 0; i < r.points.size(); ++i) {
    Json point = {{"temperature_c", r.points[i].place.temperature_c}};
    point.update(fitted_json(r, i));
    point["frequency_hz"] = r.points[i].frequency.value();
    point.update(place_json(r.points[i].place));
    point["warnings"] = warnings_json(r.points[i].warnings);
    out.push_back(point);
  }
  return out;
}

Json silent_json(const std::vector<SilentPoint>& silent) {
  Json out = Json::array();
  for (const SilentPoint& p : silent) {
    Json point = place_json(p.place);
    point["constant"] = p.constant;
    point["finding"] = text(p.finding);
    out.push_back(point);
  }
  return out;
}

Json lost_json(const std::vector<PointPlace>& lost) {
  Json out = Json::array();
  for (const PointPlace& p : lost) out.push_back(place_json(p));
  return out;
}

Json outvoted_json(const std::vector<OutvotedPoint>& outvoted) {
  Json out = Json::array();
  for (const OutvotedPoint& p : outvoted) {
    Json point = place_json(p.point.place);
    point["frequency_hz"] = p.point.frequency.value();
    point["residual_ppm"] = p.off_ppm;
    out.push_back(point);
  }
  return out;
}

// The worst case without the marked points, where there are some.
Json unmarked_json(const DriftResult& r) {
  if (!r.worst_unmarked) return nullptr;
  const BandPlace& worst = *r.worst_unmarked;
  const CurveChoice& choice = *r.assay->without_outliers;
  const bool judged = r.verdict && r.verdict->without_outliers;
  return {
      {"model", curve_model_name(choice.fits[choice.chosen].model)},
      {"worst_case_ppm", worst.error.value},
      {"worst_case_uncertainty_ppm", finite(worst.error.expanded)},
      {"worst_case_c", worst.temperature_c},
      {"decision", judged ? Json(decision_name(*r.verdict->without_outliers))
                          : Json(nullptr)}};
}

Json turnovers_json(const std::vector<Turnover>& turnovers) {
  Json out = Json::array();
  for (const Turnover& t : turnovers) {
    out.push_back({{"temperature_c", t.temperature_c},
                   {"low_c", number(t.low_c)},
                   {"high_c", number(t.high_c)},
                   {"error_ppm", t.error.value},
                   {"expanded_uncertainty_ppm", t.error.expanded},
                   {"maximum", t.maximum},
                   {"extrapolated", !t.measured}});
  }
  return out;
}

// Of an interval with an open end there is no half-width.
Json turnover_half_widths(const std::vector<Turnover>& turnovers) {
  Json out = Json::array();
  for (const Turnover& t : turnovers) {
    const bool closed = t.low_c && t.high_c;
    out.push_back(closed ? Json(0.5 * (*t.high_c - *t.low_c)) : Json(nullptr));
  }
  return out;
}

Json turnover_places(const std::vector<Turnover>& turnovers) {
  Json out = Json::array();
  for (const Turnover& t : turnovers) out.push_back(t.temperature_c);
  return out;
}

Json curve_json(const DriftResult& r) {
  Json out = Json::array();
  for (const BandPlace& b : r.curve) {
    const bool beyond = !within(b.temperature_c, r.assay->known);
    out.push_back({{"temperature_c", b.temperature_c},
                   {"branch", sweep_json(b.branch)},
                   {"error_ppm", b.error.value},
                   {"expanded_uncertainty_ppm", finite(b.error.expanded)},
                   {"prediction_uncertainty_ppm", finite(b.reading_expanded)},
                   {"extrapolated", beyond}});
  }
  return out;
}

Json models_json(const CurveChoice& choice) {
  Json out = Json::array();
  for (std::size_t i = 0; i < choice.fits.size(); ++i) {
    const CurveFit& fit = choice.fits[i];
    out.push_back({{"model", curve_model_name(fit.model)},
                   {"chosen", i == choice.chosen},
                   {"chi_squared", finite(fit.chi_squared)},
                   {"dof", fit.dof},
                   {"probability", number(choice.significance[i])},
                   {"weight", choice.weights[i]}});
  }
  return out;
}

Json scatter_json(const CurveFit& fit) {
  return {{"kind", scatter_name(fit.scatter)},
          {"chi_squared", finite(fit.chi_squared)},
          {"dof", fit.dof},
          {"birge_ratio", number(fit.birge_ratio)}};
}

Json hysteresis_json(const std::optional<Hysteresis>& h) {
  if (!h) return nullptr;
  return {{"offset_ppm", h->offset.value},
          {"expanded_uncertainty_ppm", h->offset.expanded},
          {"significant", h->significant},
          {"lag_k", h->lag ? Json(h->lag->value) : Json(nullptr)},
          {"lag_expanded_uncertainty_k",
           h->lag ? finite(h->lag->expanded) : Json(nullptr)},
          {"lag_significant", h->lag_significant}};
}

Json ageing_json(const DriftAssay& assay) {
  const std::optional<Ageing>& a = assay.ageing;
  if (!a) return nullptr;
  const auto slope = ageing_slope(chosen_fit(assay));
  return {{"evident", a->evident},
          {"probability", a->probability},
          {"slope_ppm", finite(a->slope_ppm)},
          {"slope_expanded_uncertainty_ppm",
           slope ? finite(slope->expanded) : Json(nullptr)},
          {"rate_per_day", finite(a->rate.per_day)},
          {"rate_low_per_day", number(a->low_per_day)},
          {"rate_high_per_day", number(a->high_per_day)},
          {"separable", a->separable}};
}

Json part_json(const PartFinding& part) {
  Json angles = Json::array();
  for (const CutAngle& a : part.cut_angles) {
    angles.push_back({{"minutes", a.minutes},
                      {"expanded_uncertainty_minutes", a.expanded},
                      {"source", text(a.law.source)},
                      {"from_memory", a.law.from_memory}});
  }
  return {{"kind", part_kind_name(part.kind)},
          {"cut_angles", angles},
          {"reasons", texts(part.reasons)}};
}

Json next_json(const std::vector<NextTemperature>& best) {
  Json out = Json::array();
  for (const NextTemperature& next : best) {
    out.push_back(
        {{"temperature_c", next.temperature_c},
         {"expanded_uncertainty_before_ppm", finite(next.expanded_before_ppm)},
         {"expanded_uncertainty_after_ppm", finite(next.expanded_after_ppm)}});
  }
  return out;
}

const char* thermometer_name(DriftResult::Thermometer thermometer) {
  switch (thermometer) {
    case DriftResult::Thermometer::kStated:
      return "stated";
    case DriftResult::Thermometer::kOfLog:
      return "of_log";
    case DriftResult::Thermometer::kNotStated:
      break;
  }
  return "not_stated";
}

Json shared_json(const DriftResult& r) {
  const SharedTimebase& s = r.shared;
  const bool stated = r.thermometer != DriftResult::Thermometer::kNotStated;
  return {
      {"is_one", s.is_one},
      {"kind",
       s.is_one ? Json(timebase_kind_name(s.timebase.kind)) : Json(nullptr)},
      {"common_ppm", s.terms.common.value()},
      {"stability_ppm", s.terms.stability.value()},
      {"stability_stated", s.stability_stated},
      {"thermometer_k", stated ? Json(s.terms.thermometer_k) : Json(nullptr)},
      {"thermometer", thermometer_name(r.thermometer)},
      {"ageing_limit_ppm", number(s.terms.ageing)}};
}

Json no_curve() {
  return {{"model", nullptr},
          {"reference_c", nullptr},
          {"coefficients_ppm", Json::array()},
          {"coefficient_uncertainties_ppm", Json::array()},
          {"turnovers_c", Json::array()},
          {"turnover_uncertainties_c", Json::array()}};
}

Json model_json(const DriftAssay& assay) {
  const CurveFit& fit = chosen_fit(assay);
  Json values = Json::array();
  Json uncertainties = Json::array();
  for (const Stated& s :
       curve_coefficients(assay.choice, kReferenceTemperature)) {
    values.push_back(s.value);
    uncertainties.push_back(s.expanded);
  }
  return {{"model", curve_model_name(fit.model)},
          {"reference_c", kReferenceTemperature},
          {"coefficients_ppm", values},
          {"coefficient_uncertainties_ppm", uncertainties},
          {"turnovers_c", turnover_places(assay.turnovers)},
          {"turnover_uncertainties_c", turnover_half_widths(assay.turnovers)}};
}

Json worst_json(const DriftResult& r) {
  const auto& worst = r.worst;
  return {
      {"worst_case_ppm", worst ? Json(worst->error.value) : Json(nullptr)},
      {"worst_case_uncertainty_ppm",
       worst ? Json(worst->error.expanded) : Json(nullptr)},
      {"range_c", r.assay || r.question.range
                      ? span_json(r.question.range.value_or(r.range))
                      : Json(nullptr)},
      {"worst_case_c", worst ? Json(worst->temperature_c) : Json(nullptr)},
      {"worst_case_branch", worst ? sweep_json(worst->branch) : Json(nullptr)},
      {"worst_case_s_per_day",
       worst ? Json(seconds_per_day(Ppm(worst->error.value))) : Json(nullptr)},
      {"worst_case_uncertainty_s_per_day",
       worst ? finite(seconds_per_day(Ppm(worst->error.expanded)))
             : Json(nullptr)},
      {"worst_case_prediction_uncertainty_ppm",
       worst ? finite(worst->reading_expanded) : Json(nullptr)}};
}

// What else is read off a curve.
Json findings_json(const DriftResult& r) {
  const DriftAssay& assay = *r.assay;
  return {{"measured_c", span_json(assay.measured)},
          {"turnovers", turnovers_json(assay.turnovers)},
          {"curve", curve_json(r)},
          {"models", models_json(assay.choice)},
          {"weight_of_others", weight_of_others(assay.choice)},
          {"scatter", scatter_json(chosen_fit(assay))},
          {"hysteresis", hysteresis_json(assay.hysteresis)},
          {"ageing", ageing_json(assay)},
          {"part", part_json(r.part)},
          {"next_temperature",
           r.next.empty() ? Json(nullptr) : next_json(r.next).front()},
          {"next_temperatures", next_json(r.next)}};
}

}  // namespace

Json drift_json(const DriftResult& r) {
  Json out = r.assay ? model_json(*r.assay) : no_curve();
  out["points"] = points_json(r);
  out.update(worst_json(r));
  out["board"] = raw_or_null(r.board);
  out["series"] = Json(lossless_utf8(r.series));
  out["channel"] = r.channel ? Json(lossless_utf8(*r.channel)) : Json(nullptr);
  out["range_asked"] = r.question.range.has_value();
  out["extrapolated"] = r.extrapolated;
  out["relative_to_c"] =
      r.question.expect ? Json(nullptr) : Json(kReferenceTemperature);
  out["zero_hz"] =
      r.reference.value() > 0.0 ? Json(r.reference.value()) : Json(nullptr);
  out["coverage"] = r.question.coverage;
  out["instrument_terms"] = shared_json(r);
  if (r.assay) out.update(findings_json(r));
  out["silent"] = silent_json(r.silent);
  out["lost"] = lost_json(r.lost);
  out["outvoted"] = outvoted_json(r.outvoted);
  out["without_marked"] = unmarked_json(r);
  out["assumed"] = texts(r.assumed);
  out["caveats"] = texts(r.caveats);
  return out;
}

}  // namespace clockassay
