// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/drift/next_temperature.h"

#include <algorithm>
#include <cmath>
#include <cstddef>

#include "drift/curve_bands.h"
#include "drift/curve_row.h"

namespace clockassay {
namespace {

constexpr int kCandidates = 64;  // steps over the range: chosen, 2 K over 125 K
constexpr std::size_t kMost = 3;
constexpr double kApart = 1.0 / 8.0;  // of the range; chosen: no neighbours

double square(double x) {
  return x * x;
}

// One model at the worst case, before a point is added.
struct AtWorst {
  const CurveFit* fit;
  double weight;
  std::vector<Real> share;  // of each point in the figure
  Stated before;
};

// One model after a point was added.
struct After {
  double criterion = 0.0;  // -2 ln of its weight, up to a constant
  double value = 0.0;
  double normal = 0.0;  // variance
  double bound = 0.0;
};

double widening(const CurveFit& fit) {
  return fit.scatter == Scatter::kAsStated
             ? 1.0
             : square(student_widening(fit.coverage, fit.dof));
}

// The best new estimate is the old one, moved towards the point by the gain: a
// step of recursive least squares (Plackett, 1950; from memory, tested against
// whole fits).
After with_point(const AtWorst& model, const CurvePlace& at, double error) {
  const CurveFit& fit = *model.fit;
  const std::vector<Real> share = point_shares(fit, row_at(fit, at));
  double own = reading_variance_at(fit, at.temperature_c) / widening(fit);
  // As the points are weighted: the stability as if independent.
  const double s = fit.instrument.stability.value();
  const double birge =
      fit.scatter == Scatter::kAsStated ? 1.0 : fit.birge_ratio.value_or(1.0);
  double weighted = own;
  if (fit.scatter == Scatter::kAsStated) weighted += s * s / 3.0;
  double there = 0.0;
  double both = 0.0;
  for (std::size_t i = 0; i < share.size(); ++i) {
    const double v = square(fit.expected[i] * birge);
    there += v * square(static_cast<double>(share[i]));
    both += v * static_cast<double>(share[i] * model.share[i]);
  }
  const double gain = both / (weighted + there);
  const double off = error - bare_curve_at(fit, at).value;
  After after;
  after.value = model.before.value + gain * off;
  double variance = square(gain) * own;
  double sum = gain;
  double magnitude = std::abs(gain);
  double magnitude_before = 0.0;
  double sum_before = 0.0;
  for (std::size_t i = 0; i < share.size(); ++i) {
    const double l = static_cast<double>(model.share[i]);
    const double now = l - gain * static_cast<double>(share[i]);
    variance += square(now) * fit.variance[i];
    sum += now;
    magnitude += std::abs(now);
    sum_before += l;
    magnitude_before += std::abs(l);
  }
  after.normal = variance * widening(fit);
  after.bound =
      model.before.error.rectangle_half_width +
      fit.instrument.common.value() * (std::abs(sum) - std::abs(sum_before)) +
      s * (magnitude - magnitude_before);
  const double points = static_cast<double>(share.size());
  after.criterion = -2.0 * std::log(model.weight) +
                    square(off) / (weighted + there) +
                    static_cast<double>(fit.parameters.size()) *
                        std::log((points + 1.0) / points);
  return after;
}

class Worst {
 public:
  Worst(const DriftAssay& assay, const RangeLimits& limits)
      : choice_(assay.choice) {
    const BandPlace worst =
        worst_of(band_over(choice_, limits.range, limits.relative_to_c));
    place_ = {worst.temperature_c, 0, worst.branch, limits.relative_to_c};
    before_ = curve_at(choice_, place_).expanded;
    for (std::size_t i = 0; i < choice_.fits.size(); ++i) {
      add(choice_.fits[i], choice_.weights[i]);
    }
    for (std::size_t i = 0; i < choice_.others.size(); ++i) {
      add(choice_.others[i], choice_.other_weights[i]);
    }
  }

  double before() const { return before_; }

  // U with one point more, on the chosen curve.
  double after(double temperature_c) const {
    const CurveFit& chosen = choice_.fits[choice_.chosen];
    const CurvePlace at{temperature_c, 0, place_.branch, {}};
    const double error = bare_curve_at(chosen, at).value;
    std::vector<After> all;
    After alone;
    for (const AtWorst& model : models_) {
      all.push_back(with_point(model, at, error));
      if (model.fit == &chosen) alone = all.back();
    }
    double least = all.front().criterion;
    for (const After& a : all) least = std::min(least, a.criterion);
    double sum = 0.0;
    After whole;
    for (const After& a : all) {
      const double weight = std::exp(0.5 * (least - a.criterion));
      sum += weight;
      whole.normal += weight * (a.normal + square(a.value - alone.value));
      whole.bound += weight * a.bound;
    }
    // What the clock may be off the curve is no less for another point on it.
    return choice_.misfit_ppm + loop_at(choice_, place_) +
           std::max(expanded(whole.normal / sum, whole.bound / sum),
                    expanded(alone.normal, alone.bound));
  }

 private:
  void add(const CurveFit& fit, double weight) {
    const bool chosen = &fit == &choice_.fits[choice_.chosen];
    // Chosen: what weighs less is nowhere in the band to be seen.
    if (!(weight > 1e-6) && !chosen) return;
    models_.push_back({&fit, std::max(weight, 1e-300),
                       point_shares(fit, row_at(fit, place_)),
                       bare_curve_at(fit, place_)});
  }

  double expanded(double variance, double bound) const {
    ErrorDistribution error;
    error.normal_sigma = std::sqrt(variance);
    error.rectangle_half_width = bound;
    return expanded_or_infinite(error, choice_.fits.front().coverage);
  }

  const CurveChoice& choice_;
  CurvePlace place_;
  double before_ = 0.0;
  std::vector<AtWorst> models_;
};

}  // namespace

std::vector<NextTemperature> next_temperatures(const DriftAssay& assay,
                                               const RangeLimits& limits) {
  const Worst worst(assay, limits);
  const double width = limits.range.high_c - limits.range.low_c;
  std::vector<NextTemperature> tried;
  for (int i = 0; i <= kCandidates; ++i) {
    const double t = limits.range.low_c + width * i / kCandidates;
    const double after = worst.after(t);
    if (after < worst.before()) tried.push_back({t, worst.before(), after});
  }
  std::stable_sort(tried.begin(), tried.end(),
                   [](const NextTemperature& a, const NextTemperature& b) {
                     return a.expanded_after_ppm < b.expanded_after_ppm;
                   });
  std::vector<NextTemperature> best;
  for (const NextTemperature& one : tried) {
    const bool near = std::any_of(
        best.begin(), best.end(), [&](const NextTemperature& other) {
          return std::abs(one.temperature_c - other.temperature_c) <
                 kApart * width;
        });
    if (near || best.size() == kMost) continue;
    best.push_back(one);
  }
  return best;
}

}  // namespace clockassay
