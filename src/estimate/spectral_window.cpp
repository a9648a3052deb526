// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/spectral_window.h"

#include <cassert>
#include <cmath>
#include <complex>
#include <cstdlib>
#include <numbers>

namespace clockassay {
namespace {

constexpr double kPi = std::numbers::pi;
constexpr int kTerms = 3;
constexpr double kCosine[kTerms + 1] = {0.35875, 0.48829, 0.14128, 0.01168};

/// The window as a sum of c_m exp(2 pi i m n/N), m from -3 to 3.
double coefficient(int m) {
  const int term = std::abs(m);
  if (term > kTerms) return 0.0;
  const double a = term == 0 ? kCosine[0] : 0.5 * kCosine[term];
  return term % 2 == 0 ? a : -a;
}

/// The same of its square, m from -6 to 6.
double squared_coefficient(int m) {
  double sum = 0.0;
  for (int i = -kTerms; i <= kTerms; ++i) {
    sum += coefficient(i) * coefficient(m - i);
  }
  return sum;
}

/// Mean of exp(-2 pi i x n/N) over n from 0 to N - 1.
std::complex<double> mean_turn(double x, double n) {
  const double step = std::sin(kPi * x / n);
  const double magnitude =
      std::abs(step) < 1e-14 ? 1.0 : std::sin(kPi * x) / (n * step);
  return std::polar(1.0, -kPi * x * (n - 1.0) / n) * magnitude;
}

/// The window at a place from 0 to 1.
double window_at(double x) {
  double value = kCosine[0];
  for (int m = 1; m <= kTerms; ++m) {
    value += 2.0 * coefficient(m) * std::cos(2.0 * kPi * m * x);
  }
  return value;
}

}  // namespace

SpectralWindow::SpectralWindow(std::size_t size) : values_(size) {
  assert(size >= 16 && size % 4 == 0);
  for (std::size_t n = 0; n < size; ++n) {
    values_[n] = window_at(static_cast<double>(n) / static_cast<double>(size));
    sum_ += values_[n];
    squares_ += values_[n] * values_[n];
  }
}

double SpectralWindow::coherent_gain() const {
  return sum_ / static_cast<double>(size());
}

double SpectralWindow::noise_bandwidth() const {
  return static_cast<double>(size()) * squares_ / (sum_ * sum_);
}

double SpectralWindow::response(double offset) const {
  std::complex<double> sum;
  for (int m = -kTerms; m <= kTerms; ++m) {
    sum += coefficient(m) * mean_turn(offset - m, static_cast<double>(size()));
  }
  return std::abs(sum) / kCosine[0];
}

double SpectralWindow::bin_correlation(std::size_t bins) const {
  const auto m = static_cast<int>(bins);
  if (m > 2 * kTerms) return 0.0;
  return std::abs(squared_coefficient(m)) / squared_coefficient(0);
}

double SpectralWindow::half_overlap_correlation(double bin,
                                                double bin_of_next) const {
  // The second half of one segment is the first of the next; both bins count
  // their phase from the middle of their own.
  constexpr int kPoints = 64;  // of a polynomial of few cosines
  double sum = 0.0;
  for (int i = 0; i < kPoints; ++i) {
    const double x = 0.5 * (i + 0.5) / kPoints;
    const double turns = bin * x - bin_of_next * (x - 0.5);
    sum += window_at(x) * window_at(x + 0.5) * std::cos(2.0 * kPi * turns);
  }
  return 0.5 * sum / kPoints * static_cast<double>(size()) / squares_;
}

}  // namespace clockassay
