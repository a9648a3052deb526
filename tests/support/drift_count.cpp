// SPDX-License-Identifier: GPL-3.0-or-later
#include "support/drift_count.h"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <numeric>

#include "clockassay/drift/range_verdict.h"

namespace clockassay::testing {
namespace {

constexpr int kPlaces = 25;
constexpr double kMiss = 0.01;  // ppm by which a part misses or keeps a limit
constexpr double kGood = 1.5;   // ppm by which a good part keeps it

// Fails of tests here are fails of the scene, not of what is counted.
DriftAssay assay_of(const DriftTrial& trial) {
  auto assay = assay_drift(trial.points, trial.instrument, 0.95);
  if (!assay) {
    std::fprintf(stderr, "%s\n", assay.error().message.c_str());
    std::abort();
  }
  return std::move(*assay);
}

std::vector<Sweep> branches_of(const DriftAssay& assay) {
  if (!chosen_fit(assay).terms.sweeps) return {Sweep::kNotStated};
  return {Sweep::kUp, Sweep::kDown};
}

double place_c(const Span& span, int i) {
  return span.low_c + (span.high_c - span.low_c) * i / (kPlaces - 1);
}

void count_places(const DriftTrial& trial, const DriftAssay& assay,
                  DriftCount& count) {
  for (int i = 0; i < kPlaces; ++i) {
    for (const Sweep branch : branches_of(assay)) {
      const double t = place_c(assay.measured, i);
      const Stated s = curve_at(assay.choice, {t, 0, branch, {}});
      const std::size_t at = static_cast<std::size_t>(i);
      ++count.places[at];
      count.covered[at] +=
          std::abs(s.value - trial.truth(t, branch)) <= s.expanded;
    }
  }
}

// Where the true curve turns, by its differences on a fine grid, a span beyond
// the points included.
std::vector<double> true_turnovers(const DriftTrial& trial, const Span& span) {
  constexpr int kFine = 15000;
  const double width = span.high_c - span.low_c;
  std::vector<double> places;
  const auto slope = [&](double t) {
    return trial.truth(t + 1e-3, Sweep::kNotStated) -
           trial.truth(t - 1e-3, Sweep::kNotStated);
  };
  for (int i = 0; i < kFine; ++i) {
    const double a = span.low_c - width + 3.0 * width * i / kFine;
    const double b = span.low_c - width + 3.0 * width * (i + 1) / kFine;
    if ((slope(a) > 0.0) != (slope(b) > 0.0)) places.push_back(0.5 * (a + b));
  }
  return places;
}

void count_turnovers(const DriftTrial& trial, const DriftAssay& assay,
                     DriftCount& count) {
  const std::vector<double> truth = true_turnovers(trial, assay.measured);
  for (const Turnover& t : assay.turnovers) {
    if (!t.measured) continue;
    ++count.turnovers;
    count.turnovers_covered +=
        std::any_of(truth.begin(), truth.end(), [&](double there) {
          return (!t.low_c || *t.low_c <= there) &&
                 (!t.high_c || there <= *t.high_c);
        });
  }
}

// The true slope by its difference: the curves bend by less than 1e-5 ppm/K
// within a hundredth of a kelvin.
bool covers_slope(const DriftTrial& trial, const DriftAssay& assay) {
  constexpr double kStep = 0.01;
  constexpr double kDatum = 25.0;
  const double slope = (trial.truth(kDatum + kStep, Sweep::kNotStated) -
                        trial.truth(kDatum - kStep, Sweep::kNotStated)) /
                       (2.0 * kStep);
  const Stated found = curve_coefficients(assay.choice, kDatum)[1];
  return std::abs(found.value - slope) <= found.expanded;
}

struct Extent {
  double low;
  double high;
};

// Of the true curve over the span, on all branches that are told apart.
Extent true_extent(const DriftTrial& trial, const DriftAssay& assay) {
  const Span& range = assay.measured;
  const double first = trial.truth(range.low_c, branches_of(assay).front());
  Extent extent{first, first};
  constexpr int kFine = 2000;
  for (int i = 0; i <= kFine; ++i) {
    for (const Sweep branch : branches_of(assay)) {
      const double t = range.low_c + (range.high_c - range.low_c) * i / kFine;
      extent.low = std::min(extent.low, trial.truth(t, branch));
      extent.high = std::max(extent.high, trial.truth(t, branch));
    }
  }
  return extent;
}

bool covers_worst(const DriftTrial& trial, const DriftAssay& assay) {
  const Extent extent = true_extent(trial, assay);
  const double truth = std::max(-extent.low, extent.high);
  const BandPlace worst =
      worst_of(band_over(assay.choice, assay.measured, std::nullopt));
  return std::abs(std::abs(worst.error.value) - truth) <= worst.error.expanded;
}

Decision judged(const DriftTrial& trial, const DriftAssay& assay, bool at_top,
                double beyond) {
  RangeLimits limits;
  limits.range = assay.measured;
  Extent extent = true_extent(trial, assay);
  double& low = extent.low;
  double& high = extent.high;
  // A part that was beyond a limit when it was read has not kept it.
  for (const double read : trial.when_read) {
    if (beyond > 0.0) break;
    low = std::min(low, read);
    high = std::max(high, read);
  }
  // One limit at a time decides: the other is far away.
  limits.low = Ppm(at_top ? low - 1e6 : low + beyond);
  limits.high = Ppm(at_top ? high - beyond : high + 1e6);
  return judge_range(assay, limits).decision;
}

}  // namespace

DriftCount count_trial(const DriftTrial& trial, int degree,
                       std::mt19937_64& random) {
  const DriftAssay assay = assay_of(trial);
  DriftCount count;
  count.trials = 1;
  count.covered.assign(kPlaces, 0);
  count.places.assign(kPlaces, 0);
  count_places(trial, assay, count);
  count.model_right = static_cast<int>(chosen_fit(assay).model) == degree;
  count.slope_covered = covers_slope(trial, assay);
  count.worst_covered = covers_worst(trial, assay);
  if (count.model_right) count_turnovers(trial, assay, count);
  const bool at_top = random() % 2 == 0;
  count.false_pass = judged(trial, assay, at_top, kMiss) == Decision::kPass;
  count.false_fail = judged(trial, assay, at_top, -kMiss) == Decision::kFail;
  count.good_pass = judged(trial, assay, at_top, -kGood) == Decision::kPass;
  count.marked = static_cast<int>(assay.outliers.size());
  return count;
}

DriftCount count_trial(PartScene scene, Trouble trouble,
                       std::mt19937_64& random) {
  const DriftTrial trial = drift_trial(scene, trouble, random);
  return count_trial(trial, scene_degree(scene), random);
}

DriftCount sum_of(const std::vector<DriftCount>& counts) {
  DriftCount sum;
  sum.covered.assign(kPlaces, 0);
  sum.places.assign(kPlaces, 0);
  for (const DriftCount& c : counts) {
    for (std::size_t i = 0; i < sum.covered.size(); ++i) {
      sum.covered[i] += c.covered[i];
      sum.places[i] += c.places[i];
    }
    sum.trials += c.trials;
    sum.turnovers += c.turnovers;
    sum.turnovers_covered += c.turnovers_covered;
    sum.model_right += c.model_right;
    sum.slope_covered += c.slope_covered;
    sum.worst_covered += c.worst_covered;
    sum.false_pass += c.false_pass;
    sum.false_fail += c.false_fail;
    sum.good_pass += c.good_pass;
    sum.marked += c.marked;
  }
  return sum;
}

double covered_share(const DriftCount& count) {
  const double all =
      std::accumulate(count.places.begin(), count.places.end(), 0.0);
  return std::accumulate(count.covered.begin(), count.covered.end(), 0.0) / all;
}

double lowest_share(const DriftCount& count) {
  double lowest = 1.0;
  for (std::size_t i = 0; i < count.places.size(); ++i) {
    lowest = std::min(lowest,
                      static_cast<double>(count.covered[i]) / count.places[i]);
  }
  return lowest;
}

std::string table_head() {
  return "| part | trouble | covered | lowest | worst | slope | turnovers | "
         "model | "
         "false pass | false fail | good pass | marked |\n"
         "|---|---|---|---|---|---|---|---|---|---|---|---|";
}

std::string table_row(const std::string& part, const std::string& trouble,
                      const DriftCount& c) {
  const auto percent = [](int part_of, int whole) {
    char text[32];
    if (whole == 0) return std::string("-");
    std::snprintf(text, sizeof text, "%.1f", 100.0 * part_of / whole);
    return std::string(text);
  };
  char shares[64];
  std::snprintf(shares, sizeof shares, "%.1f | %.1f", 100.0 * covered_share(c),
                100.0 * lowest_share(c));
  std::string row = "| " + part + " | " + trouble + " | " + shares;
  for (const auto& cell :
       {percent(c.worst_covered, c.trials), percent(c.slope_covered, c.trials),
        percent(c.turnovers_covered, c.turnovers),
        percent(c.model_right, c.trials), percent(c.false_pass, c.trials),
        percent(c.false_fail, c.trials), percent(c.good_pass, c.trials),
        std::to_string(c.marked)}) {
    row += " | " + cell;
  }
  return row + " |";
}

}  // namespace clockassay::testing
