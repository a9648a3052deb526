// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/sampling_beat.h"

#include <doctest/doctest.h>

#include <cmath>
#include <initializer_list>

using namespace clockassay;

namespace {

/// Mean square, over all phases, of the mean error that sampling makes of n
/// edges one period apart: an edge at x is seen at ceil(x), half a sample late
/// on average.
double counted(double period, int n) {
  constexpr int kPhases = 1000;
  double squares = 0.0;
  for (int p = 0; p < kPhases; ++p) {
    double sum = 0.0;
    for (int k = 0; k < n; ++k) {
      const double x = (p + 0.5) / kPhases + k * period;
      sum += std::ceil(x) - x - 0.5;
    }
    squares += sum / n * sum / n;
  }
  return squares / kPhases;
}

}  // namespace

TEST_CASE("sampling_beat: a locked clock moves by a twelfth of a sample²") {
  // 64 harmonics leave out 1/(2 pi² 64) = 0.8e-3 of it.
  CHECK(std::abs(sampling_beat(40.0, 100.0, 0.0) - 1.0 / 12.0) < 1e-3);
  // Half a sample a period: every other harmonic, a quarter.
  CHECK(std::abs(sampling_beat(40.5, 1e6, 0.0) - 1.0 / 48.0) < 1e-3);
}

TEST_CASE("sampling_beat: bounds what is counted over all phases") {
  for (double period :
       {40.0, 40.38196601125, 40.0002, 40.01, 20.5, 20.501, 8.38, 3.3334}) {
    for (int n : {16, 100, 1000}) {
      CAPTURE(period);
      CAPTURE(n);
      const double truth = counted(period, n);
      // 1e-3: as above.
      CHECK(sampling_beat(period, n, 0.0) > truth - 1e-3);
    }
  }
  // Far from all fractions the bound is small, and so of use.
  CHECK(sampling_beat(40.38196601125, 256.0, 0.0) < 1e-4);
}

TEST_CASE("sampling_beat: half a sample of jitter leaves nothing of it") {
  // exp(-4 pi² 0.25) / (2 pi²) = 2.6e-6, and what is left for finer phases.
  CHECK(sampling_beat(40.0, 100.0, 0.5) < 3e-5);
}
