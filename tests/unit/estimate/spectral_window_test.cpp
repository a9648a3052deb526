// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/spectral_window.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>

using namespace clockassay;

namespace {

double decibels(double amplitude) {
  return 20.0 * std::log10(amplitude);
}

}  // namespace

// Figures of the minimum four-term window recomputed from its closed-form
// transform; in brackets what Harris, Proc. IEEE 66(1), 1978, Table 1 prints.
// Tolerances are half of the last digit; 4096 values differ from the closed
// form by less.
TEST_CASE("SpectralWindow: gain, bandwidths and losses are those of Harris") {
  const SpectralWindow window(4096);
  CHECK(std::abs(window.coherent_gain() - 0.35875) < 5e-6);         // [0.36]
  CHECK(std::abs(window.noise_bandwidth() - 2.0044) < 5e-5);        // [2.00]
  CHECK(std::abs(decibels(window.response(0.5)) + 0.8256) < 5e-5);  // [0.83]
  // Half of the 3 dB and the 6 dB bandwidth: 1.899 [1.90], 2.666.
  CHECK(std::abs(decibels(window.response(0.5 * 1.899)) + 3.0103) < 5e-3);
  CHECK(std::abs(decibels(window.response(0.5 * 2.666)) + 6.0206) < 5e-3);
  // One bin of segments that overlap by half: 3.8 % [3.8].
  CHECK(std::abs(window.half_overlap_correlation(0.0, 0.0) - 0.038) < 5e-4);
}

TEST_CASE("SpectralWindow: no side lobe is higher than 92 dB down") {
  const SpectralWindow window(4096);
  double highest = -200.0;
  for (double offset = kMainLobe; offset < 200.0; offset += 0.01) {
    highest = std::max(highest, decibels(window.response(offset)));
  }
  CHECK(std::abs(highest + 92.01) < 5e-3);  // [-92]
}

TEST_CASE("SpectralWindow: response and correlation are those of its values") {
  const std::size_t n = 64;
  const SpectralWindow window(n);
  const auto transform = [&](double offset, int power) {
    double re = 0.0, im = 0.0;
    for (std::size_t i = 0; i < n; ++i) {
      const double w = std::pow(window.values()[i], power);
      const double angle = 2.0 * M_PI * offset * static_cast<double>(i) / n;
      re += w * std::cos(angle);
      im += w * std::sin(angle);
    }
    return std::hypot(re, im);
  };
  for (double offset : {0.0, 0.3, 1.0, 1.7, 4.5, -2.2}) {
    CAPTURE(offset);
    // A hundred roundings of numbers below 1.
    CHECK(std::abs(window.response(offset) -
                   transform(offset, 1) / window.sum()) < 1e-13);
  }
  for (std::size_t bins = 0; bins < 9; ++bins) {
    CAPTURE(bins);
    CHECK(std::abs(window.bin_correlation(bins) -
                   transform(static_cast<double>(bins), 2) /
                       window.sum_of_squares()) < 1e-13);
  }
}
