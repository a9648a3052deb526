// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <cmath>
#include <string>
#include <vector>

#include "clockassay/analysis/assay_series.h"
#include "clockassay/base/number_text.h"
#include "report/names.h"
#include "report/number_format.h"
#include "report/text_parts.h"

namespace clockassay {
namespace {

std::string degrees(double celsius) {
  return number_text(celsius, 4) + " degC";
}

// An error so gross is no matter of a crystal: told in per cent.
constexpr double kGross = 1e5;  // ppm; chosen: ten times an RC oscillator's
constexpr double kPpmPerCent = 1e4;

std::string signed_ppm(const Stated& s) {
  if (std::abs(s.value) >= kGross) {
    return signed_with_uncertainty(s.value / kPpmPerCent,
                                   s.expanded / kPpmPerCent, "%");
  }
  return s.expanded > 0.0 ? signed_with_uncertainty(s.value, s.expanded, "ppm")
                          : number_text(s.value, 4) + " ppm";
}

std::string branch_words(Sweep branch) {
  if (branch == Sweep::kNotStated) return "";
  return branch == Sweep::kUp ? ", on the way up" : ", on the way down";
}

std::string span_words(const Span& span) {
  return unbroken(number_text(span.low_c, 4) + " \u2026 " +
                  degrees(span.high_c));
}

std::string worst_words(const DriftResult& r) {
  return "worst " + signed_ppm(r.worst->error) + " at " +
         degrees(r.worst->temperature_c) + branch_words(r.worst->branch) +
         " (" + coverage_percent(r.question.coverage) + ")";
}

std::string limit_words(const DriftQuestion& q) {
  return "limit " + limits(q.tolerance->low_ppm.to_double(),
                           q.tolerance->high_ppm.to_double(), "ppm");
}

std::string clock_name(const DriftResult& r) {
  if (!r.board.empty()) return name_text(r.board);
  if (r.question.expect) return name_text(r.question.expect->text);
  return name_text(r.series);
}

std::string joined(const std::vector<std::string>& list) {
  std::string text;
  for (const std::string& one : list) text += (text.empty() ? "" : ", ") + one;
  return text;
}

const char* unit_of_power(std::size_t power) {
  constexpr const char* kUnits[] = {"ppm", "ppm/K", "ppm/K\u00B2",
                                    "ppm/K\u00B3"};
  return kUnits[power];
}

void put_curve(TextLayout& out, const DriftResult& r) {
  const CurveFit& fit = chosen_fit(*r.assay);
  std::string text = std::string(curve_model_name(fit.model)) + " through " +
                     std::to_string(r.points.size()) + " points from " +
                     span_words(r.assay->measured) +
                     "; errors are relative to ";
  text += r.question.expect
              ? unbroken(nominal_frequency(r.reference.value()))
              : "the curve at 25 degC, " +
                    unbroken(frequency_to(r.reference.value(),
                                          1e-9 * r.reference.value()));
  out.labelled("curve", text);
  const auto coefficients =
      curve_coefficients(r.assay->choice, kReferenceTemperature);
  constexpr const char* kNames[] = {"at 25 degC", "slope there", "square",
                                    "cube"};
  for (std::size_t i = 0; i < coefficients.size(); ++i) {
    const Stated& c = coefficients[i];
    out.item("-", std::string(kNames[i]) + ": " +
                      unbroken(signed_with_uncertainty(c.value, c.expanded,
                                                       unit_of_power(i))));
  }
}

std::string scatter_words(const CurveFit& fit) {
  if (!fit.birge_ratio) return "nothing is left over to tell it";
  std::string text = number_to_digits(*fit.birge_ratio, 2) +
                     " of what is stated, " + std::to_string(fit.dof) +
                     " degrees of freedom";
  if (fit.scatter == Scatter::kEstimated) {
    text = "nothing stated; as seen, " + std::to_string(fit.dof) +
           " degrees of freedom";
  }
  return text;
}

// What the choice is by: each model with its highest term.
void put_models(TextLayout& out, const CurveChoice& choice) {
  for (std::size_t i = 0; i < choice.fits.size(); ++i) {
    const CurveFit& fit = choice.fits[i];
    std::string text = std::string(curve_model_name(fit.model)) +
                       ": chi-squared " + number_to_digits(fit.chi_squared, 3) +
                       ", " + std::to_string(fit.dof) + " degrees of freedom";
    if (choice.significance[i]) {
      text +=
          "; its last term by chance: " + probability(*choice.significance[i]);
    }
    text += "; weight " + probability(choice.weights[i]);
    if (i == choice.chosen) text += "; chosen";
    out.labelled(i == 0 ? "models" : "", text);
  }
  const double others = weight_of_others(choice);
  if (others < 0.005) return;
  out.labelled("",
               "others in the band, of higher degree or with other ageing: "
               "weight " +
                   probability(others));
}

void put_turnovers(TextLayout& out, const DriftResult& r) {
  for (const Turnover& t : r.assay->turnovers) {
    const double width =
        t.low_c && t.high_c ? 0.5 * (*t.high_c - *t.low_c) : 1.0;
    const int digits = digits_within(t.temperature_c, t.temperature_c - width,
                                     t.temperature_c + width, 6);
    std::string text = number_to_digits(t.temperature_c, digits) + " degC, ";
    text += t.low_c ? number_text(*t.low_c, digits) : "open";
    text += " to ";
    text += t.high_c ? number_text(*t.high_c, digits) : "open";
    text += std::string("; ") + (t.maximum ? "fastest" : "slowest") +
            " there, " + unbroken(signed_ppm(t.error));
    if (!t.measured) text += "; extrapolated, a guess";
    out.labelled("turnover", text);
  }
}

std::string per_day_words(const Stated& error) {
  const double gained = seconds_per_day(Ppm(error.value));
  const double expanded = seconds_per_day(Ppm(error.expanded));
  if (!(expanded > 0.0)) return number_to_digits(gained, 3) + " s a day";
  return signed_with_uncertainty(gained, expanded, "s") + " a day";
}

void put_worst(TextLayout& out, const DriftResult& r) {
  std::string text =
      unbroken(signed_ppm(r.worst->error)) + " at " +
      unbroken(degrees(r.worst->temperature_c)) +
      branch_words(r.worst->branch) + ", over " + span_words(r.range) +
      (r.question.range ? "" : " (all that was measured)") + "; " +
      unbroken(per_day_words(r.worst->error)) + "; one more reading within " +
      unbroken("\u00B1" + number_to_digits(r.worst->reading_expanded, 2) +
               " ppm of it");
  if (r.extrapolated) text += "; extrapolated, a guess";
  out.labelled("worst case", text);
  if (!r.worst_unmarked) return;
  text = "without the marked points " +
         unbroken(signed_ppm(r.worst_unmarked->error)) + " at " +
         unbroken(degrees(r.worst_unmarked->temperature_c)) +
         branch_words(r.worst_unmarked->branch);
  if (r.verdict && r.verdict->without_outliers) {
    text += std::string(", ") + decision_name(*r.verdict->without_outliers);
  }
  out.labelled("", text);
}

void put_hysteresis(TextLayout& out, const DriftAssay& assay) {
  if (assay.hysteresis) {
    out.labelled("hysteresis",
                 unbroken(signed_ppm(assay.hysteresis->offset)) +
                     ", up minus down; " +
                     (assay.hysteresis->significant ? "significant"
                                                    : "not significant"));
    if (const auto& lag = assay.hysteresis->lag) {
      out.labelled(
          "lag",
          unbroken(signed_with_uncertainty(lag->value, lag->expanded, "K")) +
              ", up before down; " +
              (assay.hysteresis->lag_significant ? "significant"
                                                 : "not significant"));
    }
  }
  const auto slope = ageing_slope(chosen_fit(assay));
  if (assay.ageing && slope) {
    const Ageing& ageing = *assay.ageing;
    const auto end = [](const std::optional<double>& rate) {
      return rate ? number_to_digits(*rate, 2) : std::string("open");
    };
    out.labelled("ageing",
                 unbroken(signed_ppm(*slope)) + " times ln(B t + 1), B from " +
                     end(ageing.low_per_day) + " to " +
                     end(ageing.high_per_day) + " a day; " +
                     (ageing.evident ? "" : "not significant; ") +
                     "it is in the curve, which is that of the last point's "
                     "time");
  }
}

void put_part(TextLayout& out, const PartFinding& part) {
  out.labelled("part", part_kind_name(part.kind));
  for (const std::string& reason : part.reasons) out.item("-", reason);
}

void put_instrument(TextLayout& out, const DriftResult& r) {
  const SharedTimebase& s = r.shared;
  std::string text =
      s.is_one ? timebase_text(s.timebase) + "; it shifts every point alike" +
                     (r.question.expect ? "" : ", and so cancels here")
               : "several";
  text += "; \u00B1" + plain_number(s.terms.stability.value()) +
          " ppm between points, ";
  text += s.stability_stated ? "stated" : s.is_one ? "assumed" : "any pattern";
  out.labelled("timebase", text);
  if (r.thermometer != DriftResult::Thermometer::kNotStated) {
    out.labelled("thermometer", "\u00B1" + plain_number(s.terms.thermometer_k) +
                                    " K, alike at every point");
  }
}

void put_next(TextLayout& out, const DriftResult& r) {
  bool first = true;
  for (const NextTemperature& next : r.next) {
    out.labelled(
        first ? "next" : "",
        std::string(first ? "one more point at " : "or at ") +
            unbroken(degrees(next.temperature_c)) +
            " would lower U of the worst case from " +
            unbroken(number_to_digits(next.expanded_before_ppm, 3) + " to " +
                     number_to_digits(next.expanded_after_ppm, 3) + " ppm"));
    first = false;
  }
}

void put_missing(TextLayout& out, const DriftResult& r) {
  for (const SilentPoint& p : r.silent) {
    out.labelled(
        "no clock",
        "at " + degrees(p.place.temperature_c) + ": " +
            message_text(p.finding) +
            (p.place.source.empty() ? ""
                                    : " (" + name_text(p.place.source) + ")"));
  }
  for (const OutvotedPoint& p : r.outvoted) {
    out.labelled("outvoted", "at " + degrees(p.point.place.temperature_c) +
                                 ": " + (p.off_ppm > 0.0 ? "+" : "") +
                                 number_text(p.off_ppm, 4) +
                                 " ppm off the curve; readings beside it "
                                 "agree with the others, so it is in no "
                                 "figure");
  }
  for (const PointPlace& p : r.lost) {
    out.labelled("not used", "at " + degrees(p.temperature_c) + ": " +
                                 (p.source.empty() ? "a part of the capture"
                                                   : name_text(p.source)));
  }
}

void put_sentences(TextLayout& out, const char* label,
                   const std::vector<std::string>& sentences) {
  bool first = true;
  for (const std::string& s : sentences) {
    out.labelled(first ? label : "", message_text(s));
    first = false;
  }
}

// A warning that many points have is told once.
void put_point_warnings(TextLayout& out, const DriftResult& r) {
  std::vector<std::string> told;
  for (const TemperaturePoint& p : r.points) {
    for (const PointWarning& w : p.warnings) {
      if (std::find(told.begin(), told.end(), w.code) != told.end()) continue;
      told.push_back(w.code);
      const auto same = std::count_if(
          r.points.begin(), r.points.end(), [&w](const TemperaturePoint& q) {
            return std::any_of(
                q.warnings.begin(), q.warnings.end(),
                [&w](const PointWarning& v) { return v.code == w.code; });
          });
      out.labelled("warning",
                   message_text(w.message) + " (" + message_text(w.code) +
                       (w.forbids_pass ? ", forbids a pass" : "") + "; at " +
                       degrees(p.place.temperature_c) +
                       (same > 1 ? " and " + std::to_string(same - 1) +
                                       (same > 2 ? " others" : " other")
                                 : "") +
                       ")");
    }
  }
}

}  // namespace

std::vector<std::string> drift_parts(const DriftResult& r) {
  std::vector<std::string> parts;
  if (r.worst) {
    if (r.extrapolated) parts.push_back("extrapolated");
    parts.push_back(worst_words(r));
  } else {
    parts.push_back("no curve");
  }
  if (r.question.tolerance) {
    parts.push_back(limit_words(r.question));
    parts.push_back("over " + span_words(*r.question.range));
  }
  if (!r.assumed.empty()) parts.push_back("assumed: " + joined(r.assumed));
  return parts;
}

void put_drift_line(TextLayout& out, const DriftResult& r,
                    const Verdict* verdict, bool color) {
  std::vector<std::string> parts = drift_parts(r);
  parts.insert(parts.begin(), clock_name(r));
  if (verdict == nullptr) return out.headline(parts);
  put_decision_line(out, verdict->decision, parts, color);
}

void put_drift(TextLayout& out, const DriftResult& r, const Verdict* verdict) {
  if (r.assay) {
    put_curve(out, r);
    put_models(out, r.assay->choice);
    put_turnovers(out, r);
    put_worst(out, r);
    out.labelled("scatter", scatter_words(chosen_fit(*r.assay)));
    put_hysteresis(out, *r.assay);
    put_part(out, r.part);
    put_instrument(out, r);
    put_next(out, r);
  }
  if (verdict != nullptr) {
    put_sentences(out, "why", verdict->reasons);
    put_sentences(out, "what to do", verdict->advice);
  }
  put_missing(out, r);
  put_sentences(out, "mind", r.caveats);
  put_point_warnings(out, r);
  if (r.assay) put_drift_points(out, r);
  out.labelled("series", name_text(r.series) +
                             (r.channel ? ", channel " + name_text(*r.channel)
                                        : std::string()));
}

}  // namespace clockassay
