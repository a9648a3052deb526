// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/sampling_resonance.h"

#include <algorithm>
#include <cmath>
#include <complex>
#include <numbers>
#include <vector>

#include "clockassay/estimate/edge_line.h"

namespace clockassay {
namespace {

constexpr double kPi = std::numbers::pi;
/// Harmonics looked at. Chosen: the eighth moves a slope by an eighth as much.
constexpr int kHarmonics = 8;
/// Beyond so many turns of a harmonic over the view it moves the slope by less
/// than 1.9/200 of its size.
constexpr double kManyTurns = 200.0;
/// Points of the view at which phases are taken. Chosen: ten to a turn.
constexpr int kPoints = 2048;

/// The path at x from 0 to 1, linear between the middles of its parts.
double path_at(std::span<const double> path, double x) {
  const auto last = static_cast<double>(path.size() - 1);
  const double place =
      std::clamp(x * static_cast<double>(path.size()) - 0.5, 0.0, last);
  const auto i = std::min(static_cast<std::size_t>(place), path.size() - 2);
  return path[i] + (place - static_cast<double>(i)) * (path[i + 1] - path[i]);
}

/// 12 |mean of x exp(2 pi i turns)|, the turns as given and `more` over the
/// view.
double slope_moved(std::span<const double> turns, double more) {
  std::complex<double> sum = 0.0;
  for (int i = 0; i < kPoints; ++i) {
    const double x = (i + 0.5) / kPoints - 0.5;
    const double turn = turns[static_cast<std::size_t>(i)] + more * x;
    sum += x * std::polar(1.0, 2.0 * kPi * (turn - std::round(turn)));
  }
  return 12.0 * std::abs(sum) / kPoints;
}

/// Variance that edges with normal jitter of rms sigma show when the phases of
/// the sampler are met evenly but not from one edge to the next.
double variance_about_phase(double sigma) {
  double sum = sigma * sigma + 1.0 / 12.0;
  constexpr int kTerms = 200;  // those left out add 2.5e-4 at sigma = 0
  for (int m = 1; m <= kTerms; ++m) {
    sum -= std::exp(-4.0 * kPi * kPi * sigma * sigma * m * m) /
           (2.0 * kPi * kPi * m * m);
  }
  return sum;
}

/// The rms jitter that shows as that variance.
double jitter_of(double variance) {
  double low = 0.0, high = 1.0;  // above, no harmonic is left
  if (variance >= variance_about_phase(high)) return high;
  for (int i = 0; i < 40; ++i) {
    const double middle = 0.5 * (low + high);
    (variance_about_phase(middle) < variance ? low : high) = middle;
  }
  return low;
}

}  // namespace

double sampling_resonance(double period, double cycles,
                          std::span<const double> path, double sigma) {
  // What of the period the capture leaves open, in turns of that harmonic.
  constexpr double kOpen[] = {-0.75, -0.375, 0.0, 0.375, 0.75};
  double moved = 0.0;
  int first = 0;  // harmonic that hardly turns: the sampler has so many phases
  for (int m = 1; m <= kHarmonics; ++m) {
    const double size =
        std::exp(-2.0 * kPi * kPi * m * m * sigma * sigma) / (kPi * m);
    const double whole = cycles * (m * period - std::round(m * period));
    if (std::abs(whole) > kManyTurns || size < 1e-6) continue;
    if (first == 0) first = m;
    std::vector<double> turns(kPoints);
    for (int i = 0; i < kPoints; ++i) {
      const double x = (i + 0.5) / kPoints;
      turns[static_cast<std::size_t>(i)] = whole * x + m * path_at(path, x);
    }
    double most = 0.0;
    for (const double open : kOpen) {
      most = std::max(most, slope_moved(turns, open * m / first));
    }
    moved += size * most;
  }
  return moved;
}

double least_jitter(std::span<const LineSums> parts, double sample) {
  std::vector<double> variances;
  for (const LineSums& part : parts) {
    const auto fit = fit_line(part, LineSums{});
    if (!fit || fit->dof < 1) continue;
    variances.push_back(fit->residual_squares / static_cast<double>(fit->dof) /
                        (sample * sample));
  }
  if (variances.empty()) return 0.0;
  const auto quarter =
      variances.begin() + static_cast<std::ptrdiff_t>(variances.size() / 4);
  std::nth_element(variances.begin(), quarter, variances.end());
  return jitter_of(*quarter);
}

}  // namespace clockassay
