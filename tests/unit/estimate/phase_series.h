// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <random>
#include <span>
#include <vector>

#include "clockassay/base/parallel.h"
#include "clockassay/estimate/stability.h"
#include "estimate/phase_stability.h"

namespace clockassay {

/// In: x outlives it
inline PhaseSource source_of(const std::vector<double>& x) {
  return {static_cast<std::int64_t>(x.size()),
          [&x](std::int64_t at, std::span<double> out) {
            std::copy_n(x.begin() + at, out.size(), out.begin());
          }};
}

inline Stability describe(const std::vector<double>& x,
                          const PhaseScale& scale = {},
                          const StabilityOptions& options = {}) {
  return describe_phases(source_of(x), scale, options, {}, serial_for);
}

inline std::vector<double> white(std::size_t n, std::mt19937_64& random) {
  std::normal_distribution<double> normal;
  std::vector<double> x(n);
  for (double& v : x) v = normal(random);
  return x;
}

inline void accumulate(std::vector<double>& x) {
  double sum = 0.0;
  for (double& v : x) v = sum += v;
}

/// Five relative standard deviations of a variance of so many degrees of
/// freedom.
inline double spread(double dof) {
  return 5.0 * std::sqrt(2.0 / dof);
}

}  // namespace clockassay
