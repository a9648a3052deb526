// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/periodogram.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>
#include <random>

#include "estimate/spectral_window.h"
#include "support/approx.h"
#include "support/two_threads.h"

using namespace clockassay;

namespace {

SeriesReader reader_of(const std::vector<double>& x) {
  return [&x](std::int64_t at, std::span<double> out) {
    std::copy_n(x.begin() + at, out.size(), out.begin());
  };
}

AveragedPeriodogram periodogram(const std::vector<double>& x,
                                std::size_t segment, double rate,
                                const ParallelFor& parallel_for = serial_for) {
  return average_periodograms(
      reader_of(x), {static_cast<std::int64_t>(x.size()), segment, rate},
      parallel_for);
}

std::vector<double> white_noise(std::size_t n, double sigma,
                                std::uint64_t seed) {
  std::mt19937_64 random(seed);
  std::normal_distribution<double> normal(0.0, sigma);
  std::vector<double> x(n);
  for (double& v : x) v = normal(random);
  return x;
}

double integral(const AveragedPeriodogram& p) {
  return std::accumulate(p.density.begin(), p.density.end(), 0.0) * p.bin_hz;
}

}  // namespace

TEST_CASE("average_periodograms: the density holds the power (Parseval)") {
  const std::size_t n = 256;
  std::vector<double> x = white_noise(n, 2.0, 5);
  // Without mean and slope already: nothing is taken off.
  double mean = 0.0, slope = 0.0, kk = 0.0;
  for (std::size_t i = 0; i < n; ++i) mean += x[i] / n;
  for (std::size_t i = 0; i < n; ++i) {
    const double k = static_cast<double>(i) - 127.5;
    slope += k * x[i];
    kk += k * k;
  }
  for (std::size_t i = 0; i < n; ++i) {
    x[i] -= mean + slope / kk * (static_cast<double>(i) - 127.5);
  }
  const SpectralWindow window(n);
  double power = 0.0;
  for (std::size_t i = 0; i < n; ++i) {
    power += std::pow(window.values()[i] * x[i], 2) / window.sum_of_squares();
  }
  const AveragedPeriodogram p = periodogram(x, n, 1e6);
  CHECK(p.segments == 1);
  CHECK(p.density.size() == 129);
  // A few hundred roundings.
  CHECK(integral(p) == testing::approx(power).epsilon(1e-13));
}

TEST_CASE("average_periodograms: white noise has twice its variance a rate") {
  constexpr double kSigma = 3.0, kRate = 2.5e6;
  const std::size_t n = 1 << 18, segment = 1024;
  const AveragedPeriodogram p =
      periodogram(white_noise(n, kSigma, 6), segment, kRate);
  CHECK(p.segments == 2 * n / segment - 1);
  CHECK(p.resolution_hz ==
        testing::approx(2.0044 * kRate / segment).epsilon(3e-5));
  double mean = 0.0, squares = 0.0;
  const std::size_t first = 8, last = segment / 2 - 8;
  const auto bins = static_cast<double>(last - first);
  const double expected = 2.0 * kSigma * kSigma / kRate;
  for (std::size_t i = first; i < last; ++i) {
    const double part = p.density[i] / expected;
    mean += part / bins;
    squares += (part - 1.0) * (part - 1.0) / bins;
  }
  // The window leaves more than a half of the values: their variance is known
  // to sqrt(2/(n/2)) = 0.4 %, here four times.
  CHECK(std::abs(mean - 1.0) < 0.016);
  // A bin scatters by 1/averages; 496 bins, 2.6 of which are one, know that to
  // sqrt(2 2.6/496) = 10 %, here three times.
  CHECK(squares * p.averages == testing::approx(1.0).epsilon(0.3));
  CHECK(p.averages > 0.95 * static_cast<double>(p.segments));
}

TEST_CASE("average_periodograms: a line lost in the noise of one segment") {
  // Only one of 15 segments and its neighbours have noise: three at most count.
  std::vector<double> x(8 * 256, 0.0);
  const std::vector<double> noise = white_noise(256, 1.0, 7);
  std::copy(noise.begin(), noise.end(), x.begin() + 4 * 256);
  const AveragedPeriodogram p = periodogram(x, 256, 1.0);
  CHECK(p.segments == 15);
  CHECK(p.averages < 3.0);
}

TEST_CASE(
    "average_periodograms: mean and line are taken off, the spread said") {
  std::vector<double> x(1024);
  for (std::size_t i = 0; i < x.size(); ++i) {
    x[i] = 1e6 + 3.0 * static_cast<double>(i);
  }
  AveragedPeriodogram p = periodogram(x, 256, 1.0);
  // 1e6 in doubles is rounded by 1e-10.
  CHECK(integral(p) < 1e-18);
  CHECK(p.slope_spread < 1e-12);
  // A bend: segments of slopes 0 … 2, seven of them, their mean 1.
  for (std::size_t i = 0; i < x.size(); ++i) {
    x[i] = static_cast<double>(i) * static_cast<double>(i) / 768.0;
  }
  p = periodogram(x, 256, 1.0);
  // The slope of a parabola over 0 … 255 is 255/768, then 128/384 more each.
  CHECK(p.slope_spread == testing::approx(3.0 * 256.0 / 768.0).epsilon(1e-9));
}

TEST_CASE("average_periodograms: few unknown values are filled in, many not") {
  const double nan = std::numeric_limits<double>::quiet_NaN();
  std::vector<double> x(1024);
  for (std::size_t i = 0; i < x.size(); ++i) {
    x[i] = std::sin(2.0 * M_PI * 8.0 * static_cast<double>(i) / 256.0);
  }
  const AveragedPeriodogram whole = periodogram(x, 256, 1.0);
  for (const std::size_t i : {0u, 300u, 301u, 302u, 303u, 1023u}) x[i] = nan;
  const AveragedPeriodogram few = periodogram(x, 256, 1.0);
  CHECK(few.segments == 7);
  CHECK(few.left_out == 0);
  // A line over four steps of 1/32 turn is off the sine by (5 pi/32)²/8 = 3 %
  // at most, where the window may have a third.
  CHECK(few.density[8] == testing::approx(whole.density[8]).epsilon(0.01));
  x[304] = nan;  // five of 256
  const AveragedPeriodogram many = periodogram(x, 256, 1.0);
  CHECK(many.segments == 5);
  CHECK(many.left_out == 2);
  std::fill(x.begin(), x.end(), nan);
  CHECK(periodogram(x, 256, 1.0).density.empty());
}

TEST_CASE("average_periodograms: the same bits by two threads") {
  const std::vector<double> x = white_noise(200'000, 1.0, 8);
  const AveragedPeriodogram one = periodogram(x, 512, 1.0);
  const AveragedPeriodogram two = periodogram(x, 512, 1.0, two_threads);
  CHECK(one.density == two.density);
  CHECK(one.averages == two.averages);
  CHECK(one.slope_spread == two.slope_spread);
}
