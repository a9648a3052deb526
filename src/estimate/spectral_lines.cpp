// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/spectral_lines.h"

#include <algorithm>
#include <array>
#include <boost/math/distributions/fisher_f.hpp>
#include <cmath>

namespace clockassay {
namespace {

/// What the window's side lobes (92 dB down) and its first bins leave of a line
/// is no other line.
constexpr double kLeakage = 3.2e-9;  // -85 dB

/// A bin and its neighbours, seen from a line between them.
struct Peak {
  std::array<double, 3> power{};  ///< floor taken off
  double floor = 0.0;
  double offset = 0.0;  ///< of the line from the middle one [bins]
};

/// Bins beyond half the sample rate are those before it.
double mirrored(const SearchedDensity& s, std::size_t bin) {
  const std::size_t end = s.density.size() - 1;
  return s.density[bin <= end ? bin : 2 * end - bin];
}

bool is_largest_about(const SearchedDensity& s, std::size_t bin) {
  for (std::size_t i = 1; i <= kMainLobe; ++i) {
    if (bin >= i && s.density[bin - i] >= s.density[bin]) return false;
    const bool beyond = bin + i >= s.density.size();
    if (beyond && !s.to_half_rate) continue;
    if (mirrored(s, bin + i) > s.density[bin]) return false;
  }
  return true;
}

/// A line is no broader than the window shows it: beyond its main lobe there
/// is the floor. What is no narrower is a band of noise, such as an image of a
/// clock that wanders; its level is the median of the bins about it.
double level_about(const SearchedDensity& s, std::size_t bin) {
  constexpr std::size_t kTo = 20;  // bins, chosen: few lines are so near
  std::vector<double> about;
  for (std::size_t i = kMainLobe + 1; i <= kTo; ++i) {
    if (bin >= i + kMainLobe) about.push_back(s.density[bin - i]);
    if (bin + i < s.density.size() || s.to_half_rate) {
      about.push_back(mirrored(s, bin + i));
    }
  }
  const auto middle =
      about.begin() + static_cast<std::ptrdiff_t>(about.size() / 2);
  std::nth_element(about.begin(), middle, about.end());
  return std::max(s.floor.level[bin], *middle);
}

bool is_half_rate(const SearchedDensity& s, std::size_t bin) {
  return s.to_half_rate && bin + 1 == s.density.size();
}

/// That noise reaches so much anywhere.
double false_alarm(const SearchedDensity& s, std::size_t bin,
                   std::size_t looked_at) {
  // At half the rate a transform of real values has one part only.
  const double dof = (is_half_rate(s, bin) ? 1.0 : 2.0) * s.averages;
  const boost::math::fisher_f ratio(dof, s.floor.dof);
  const double one =
      cdf(complement(ratio, s.density[bin] / level_about(s, bin)));
  return -std::expm1(static_cast<double>(looked_at) * std::log1p(-one));
}

Peak peak_at(const SearchedDensity& s, const SpectralWindow& window,
             std::size_t bin) {
  Peak peak;
  peak.floor = s.floor.level[bin];
  for (std::size_t i = 0; i < 3; ++i) {
    // A neighbour below the floor is not looked at more closely than this.
    peak.power[i] =
        std::max(mirrored(s, bin + i - 1) - peak.floor, 0.01 * peak.floor);
  }
  if (!is_half_rate(s, bin)) {
    peak.offset =
        line_offset(window, peak.power[0], peak.power[1], peak.power[2]);
  }
  return peak;
}

/// Covariance of the logarithms of two of the powers, which the line has at
/// those places: the noise beats with the line, and is there by itself.
double log_covariance(const Peak& peak, const SpectralWindow& window,
                      const SearchedDensity& s, std::size_t i, std::size_t j) {
  const double line = peak.power[1] / std::pow(window.response(peak.offset), 2);
  const auto from_line = [&](std::size_t k) {
    return static_cast<double>(k) - 1.0 - peak.offset;
  };
  const double ri = window.response(from_line(i));
  const double rj = window.response(from_line(j));
  const double p = line * ri * rj;
  const double shared = window.bin_correlation(i > j ? i - j : j - i);
  const auto n = static_cast<double>(s.segments);
  const double overlap =
      (window.half_overlap_correlation(from_line(i), from_line(j)) +
       window.half_overlap_correlation(from_line(j), from_line(i))) *
      (n - 1.0) / n;
  const double beat = 2.0 * peak.floor * (shared + overlap) / p / n;
  const double alone = std::pow(peak.floor * shared / p, 2) / s.averages;
  return beat + alone;
}

/// Derivatives by the logarithms of the three powers: of the offset, and of the
/// logarithm of the amplitude.
struct Gradients {
  std::array<double, 3> offset{};
  std::array<double, 3> amplitude{};
};

Gradients gradients_of(const Peak& peak, const SpectralWindow& window) {
  constexpr double kStep = 1e-4;
  const auto estimate = [&](std::array<double, 3> p) {
    const double at = line_offset(window, p[0], p[1], p[2]);
    return std::pair(at, 0.5 * std::log(p[1]) - std::log(window.response(at)));
  };
  // About what the line has there; the noise may have left less.
  std::array<double, 3> line{};
  for (std::size_t i = 0; i < 3; ++i) {
    line[i] = std::pow(
        window.response(peak.offset - (static_cast<double>(i) - 1)), 2);
  }
  const auto here = estimate(line);
  Gradients g;
  for (std::size_t i = 0; i < 3; ++i) {
    std::array<double, 3> moved = line;
    moved[i] *= std::exp(kStep);
    const auto there = estimate(moved);
    g.offset[i] = (there.first - here.first) / kStep;
    g.amplitude[i] = (there.second - here.second) / kStep;
  }
  return g;
}

SpectralLine describe(const SearchedDensity& s, const SpectralWindow& window,
                      std::size_t bin) {
  const Peak peak = peak_at(s, window, bin);
  const Gradients g = gradients_of(peak, window);
  double offset_variance = 0.0, amplitude_variance = 0.0;
  for (std::size_t i = 0; i < 3; ++i) {
    for (std::size_t j = 0; j < 3; ++j) {
      const double c = log_covariance(peak, window, s, i, j);
      offset_variance += g.offset[i] * g.offset[j] * c;
      amplitude_variance += g.amplitude[i] * g.amplitude[j] * c;
    }
  }
  const double resolution = window.noise_bandwidth() * s.bin_hz;
  SpectralLine line;
  line.bin_hz = s.bin_hz;
  line.frequency = (static_cast<double>(bin) + peak.offset) * s.bin_hz;
  line.standard_uncertainty_hz = std::sqrt(offset_variance) * s.bin_hz;
  line.amplitude = std::sqrt(2.0 * peak.power[1] * resolution) /
                   window.response(peak.offset);
  // What alternates from value to value is its own mirror image.
  if (is_half_rate(s, bin)) line.amplitude *= 0.5;
  line.amplitude_uncertainty = line.amplitude * std::sqrt(amplitude_variance);
  return line;
}

}  // namespace

double parabola_offset(double before, double top, double after) {
  const double a = std::log(before), b = std::log(top), c = std::log(after);
  const double curvature = 2.0 * b - a - c;
  if (!(curvature > 0.0)) return 0.0;
  return 0.5 * (c - a) / curvature;
}

double line_offset(const SpectralWindow& window, double before, double top,
                   double after) {
  const double seen = parabola_offset(before, top, after);
  double offset = seen;
  // The parabola is off by 0.3 % of a bin at most, each step leaves a
  // twentieth.
  for (int i = 0; i < 4; ++i) {
    const double r[] = {window.response(-1.0 - offset), window.response(offset),
                        window.response(1.0 - offset)};
    offset += seen - parabola_offset(r[0] * r[0], r[1] * r[1], r[2] * r[2]);
  }
  return offset;
}

std::vector<SpectralLine> find_lines(const SearchedDensity& searched,
                                     const SpectralWindow& window,
                                     std::size_t looked_at,
                                     double most_false_alarms) {
  std::vector<SpectralLine> lines;
  if (searched.searched() == 0) return lines;
  const double largest =
      *std::max_element(searched.density.begin(), searched.density.end());
  for (std::size_t bin = searched.first; bin <= searched.last; ++bin) {
    if (searched.density[bin] < kLeakage * largest ||
        searched.density[bin] <= searched.floor.level[bin] ||
        !is_largest_about(searched, bin)) {
      continue;
    }
    const double chance = false_alarm(searched, bin, looked_at);
    if (!(chance < most_false_alarms)) continue;
    lines.push_back(describe(searched, window, bin));
    lines.back().false_alarm = chance;
  }
  return lines;
}

}  // namespace clockassay
