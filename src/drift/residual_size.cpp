// SPDX-License-Identifier: GPL-3.0-or-later
#include "drift/residual_size.h"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <numeric>
#include <vector>

#include "base/median.h"
#include "drift/significance.h"

namespace clockassay {
namespace {

// Chosen: of each of three looks one series in fifty by chance. That only
// widens U.
constexpr double kUnlikely = 0.02;
// Fewer points tell no sizes apart. Chosen.
constexpr std::size_t kLeast = 7;

// Ranks from 0, of equal ones in their order.
std::vector<double> ranks(const std::vector<double>& of) {
  std::vector<std::size_t> order(of.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::stable_sort(order.begin(), order.end(),
                   [&](std::size_t a, std::size_t b) { return of[a] < of[b]; });
  std::vector<double> rank(of.size());
  for (std::size_t k = 0; k < order.size(); ++k) {
    rank[order[k]] = static_cast<double>(k);
  }
  return rank;
}

// Spearman's rank correlation; by the F of its t, two-sided (the usual
// approximation; from memory, tried by simulation).
bool goes_with(const std::vector<double>& size, const std::vector<double>& x) {
  const std::vector<double> a = ranks(size);
  const std::vector<double> b = ranks(x);
  const double n = static_cast<double>(a.size());
  double sum = 0.0;
  for (std::size_t i = 0; i < a.size(); ++i) sum += std::pow(a[i] - b[i], 2);
  const double r = 1.0 - 6.0 * sum / (n * (n * n - 1.0));
  const int dof = static_cast<int>(a.size()) - 2;
  const double square = r * r / std::max(1e-12, 1.0 - r * r) * dof;
  return f_above(square, 1, dof) < kUnlikely;
}

// The largest of n normal deviates is beyond sqrt(2 ln(n/p)) less often than p;
// their median size is 0.6745.
bool stands_out(const std::vector<double>& size) {
  const double n = static_cast<double>(size.size());
  const double most = std::sqrt(2.0 * std::log(n / kUnlikely)) / 0.6745;
  return *std::max_element(size.begin(), size.end()) > most * median(size);
}

}  // namespace

bool is_no_scatter(const CurveFit& fit) {
  if (fit.scatter != Scatter::kEstimated || fit.residual.size() < kLeast) {
    return false;
  }
  std::vector<double> size;
  std::vector<double> temperature;
  std::vector<double> from_middle;
  for (std::size_t i = 0; i < fit.residual.size(); ++i) {
    const double left = 1.0 - fit.leverage[i];
    if (!(left > 1e-9)) continue;
    size.push_back(std::abs(fit.residual[i]) / fit.expected[i] /
                   std::sqrt(left));
    temperature.push_back(fit.temperature[i]);
    from_middle.push_back(std::abs(fit.temperature[i] - fit.centre_c));
  }
  if (size.size() < kLeast) return false;
  return goes_with(size, temperature) || goes_with(size, from_middle) ||
         stands_out(size);
}

}  // namespace clockassay
