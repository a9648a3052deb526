// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>

namespace clockassay {

// Statistics of a phase series: x[i] in any unit of time, tau0 apart in the
// same unit, NaN where one is missing; averaging factor m >= 1, tau = m tau0.
// Terms that need a missing phase are left out. Absent: no term is left.
// Source: docs/stability.md

/// A deviation and the number of terms it is made of.
struct Deviation {
  double value;
  std::int64_t n;
};

/// Root mean square of x[i+m] - x[i], in the unit of x: TIErms of ITU-T G.810
/// (08/96) II.4. About the mean period it is the jitter of m periods.
/// Cost: O(x.size())
std::optional<Deviation> interval_error(std::span<const double> x,
                                        std::size_t m);

/// Overlapping Allan deviation, NIST SP 1065.
/// Cost: O(x.size())
std::optional<Deviation> allan_deviation(std::span<const double> x,
                                         std::size_t m, double tau0);

/// Modified Allan deviation, NIST SP 1065.
/// Cost: O(x.size())
std::optional<Deviation> modified_allan_deviation(std::span<const double> x,
                                                  std::size_t m, double tau0);

/// Time deviation, in the unit of x: modified Allan deviation tau / sqrt(3).
std::optional<Deviation> time_deviation(std::span<const double> x,
                                        std::size_t m);

/// Overlapping Hadamard deviation, NIST SP 1065.
/// Cost: O(x.size())
std::optional<Deviation> hadamard_deviation(std::span<const double> x,
                                            std::size_t m, double tau0);

/// Maximum time-interval error, in the unit of x: the widest range of m + 1
/// consecutive phases, of which those that are missing count for nothing.
/// ITU-T G.810 (08/96) II.5.
/// Cost: O(x.size() log2 m)
std::optional<double> max_time_interval_error(std::span<const double> x,
                                              std::size_t m);

}  // namespace clockassay
