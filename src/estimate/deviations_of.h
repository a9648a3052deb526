// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cmath>
#include <optional>

#include "clockassay/estimate/phase_deviation.h"
#include "estimate/phase_terms.h"

namespace clockassay {

// Deviations from the squares of their terms, all in the unit of the phases,
// that is multiplied by tau.

/// sqrt(mean square / divisor)
inline std::optional<Deviation> deviation_of(const TermSum& terms,
                                             double divisor) {
  if (terms.n == 0) return std::nullopt;
  const double mean = terms.squares / static_cast<double>(terms.n);
  return Deviation{std::sqrt(mean / divisor), terms.n};
}

inline std::optional<Deviation> interval_of(const TermSum& terms) {
  return deviation_of(terms, 1.0);
}
inline std::optional<Deviation> allan_of(const TermSum& terms) {
  return deviation_of(terms, 2.0);
}
/// In: sums of k second differences each
inline std::optional<Deviation> modified_of(const TermSum& terms, double k) {
  return deviation_of(terms, 2.0 * k * k);
}
inline std::optional<Deviation> hadamard_of(const TermSum& terms) {
  return deviation_of(terms, 6.0);
}

}  // namespace clockassay
