// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/scatter.h"

#include <algorithm>
#include <boost/math/distributions/chi_squared.hpp>
#include <cassert>
#include <cmath>
#include <vector>

namespace clockassay {
namespace {

/// How far the sum of places runs away at the furthest, in root of the sum of
/// variances: far where neighbouring parts lie to one side, as after a step of
/// the phase or the frequency. 0.656 and 0.944 are passed by white jitter once
/// in five times and once in a hundred, with 32 parts of which the line was
/// taken off, by simulation of 60 000.
double furthest_run(std::span<const PartScore> parts) {
  double at = 0.0, furthest = 0.0, information = 0.0;
  for (const PartScore& p : parts) {
    at += p.score;
    furthest = std::max(furthest, std::abs(at));
    information += p.information;
  }
  return information > 0.0 ? furthest / std::sqrt(information) : 0.0;
}

/// Whether their squares are more than white jitter makes them once in a
/// hundred.
bool are_far(std::span<const PartScore> parts) {
  constexpr double kOnceIn = 0.01;     // chosen
  constexpr double kParameters = 2.0;  // of the line, fitted to them
  double squares = 0.0, sum = 0.0;
  for (const PartScore& p : parts) {
    squares += p.score * p.score;
    sum += p.information;
  }
  if (sum <= 0.0) return false;
  const double count = effective_parts(parts);
  if (count < kParameters + 2.0) return false;
  const boost::math::chi_squared chi(count - kParameters);
  return squares / sum * count > quantile(complement(chi, kOnceIn));
}

}  // namespace

double effective_parts(std::span<const PartScore> parts) {
  double sum = 0.0, sum_squares = 0.0;
  for (const PartScore& p : parts) {
    sum += p.information;
    sum_squares += p.information * p.information;
  }
  return sum_squares > 0.0 ? sum * sum / sum_squares : 0.0;
}

bool is_scattered(std::span<const PartScore> parts) {
  assert(parts.size() == kScatterParts);
  constexpr double kOnceInHundred = 0.944;
  return are_far(parts) || furthest_run(parts) > kOnceInHundred;
}

bool may_walk(std::span<const PartScore> parts) {
  assert(parts.size() == kScatterParts);
  constexpr double kOnceInFive = 0.656;
  return furthest_run(parts) > kOnceInFive;
}

std::optional<double> scatter_half_width(std::span<const PartScore> parts,
                                         double dof, double sampling,
                                         std::span<const Noise> kinds) {
  std::vector<EdgePlace> places;
  for (std::size_t i = 0; i < parts.size(); ++i) {
    const PartScore& p = parts[i];
    if (p.information <= 0.0) continue;
    const double middle = (static_cast<double>(i) + 0.5) / kScatterParts;
    places.push_back({middle, false, p.score / p.information,
                      1.0 / (1.0 / p.information + sampling)});
  }
  return noise_half_width(places, 1.0 / kScatterParts, {dof, dof}, kinds);
}

}  // namespace clockassay
