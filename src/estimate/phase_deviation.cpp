// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/estimate/phase_deviation.h"

#include <cassert>
#include <numbers>

#include "estimate/deviations_of.h"

namespace clockassay {
namespace {

using Phases = std::span<const double>;

std::optional<Deviation> over(std::optional<Deviation> d, double tau) {
  if (d) d->value /= tau;
  return d;
}

double tau_of(std::size_t m, double tau0) {
  assert(m >= 1);
  return static_cast<double>(m) * tau0;
}

/// In the unit of x, multiplied by tau.
std::optional<Deviation> modified(Phases x, std::size_t m) {
  assert(m >= 1);
  PhaseCells cells;
  cells_of(x, cells);
  CellTerms terms;
  terms.look_at(cells, x.size());
  return modified_of(terms.modified(m), static_cast<double>(m));
}

}  // namespace

std::optional<Deviation> interval_error(Phases x, std::size_t m) {
  assert(m >= 1);
  return interval_of(first_differences(x, m, x.size()));
}

std::optional<Deviation> allan_deviation(Phases x, std::size_t m, double tau0) {
  return over(allan_of(second_differences(x, m, x.size())), tau_of(m, tau0));
}

std::optional<Deviation> modified_allan_deviation(Phases x, std::size_t m,
                                                  double tau0) {
  return over(modified(x, m), tau_of(m, tau0));
}

std::optional<Deviation> time_deviation(Phases x, std::size_t m) {
  return over(modified(x, m), std::numbers::sqrt3);
}

std::optional<Deviation> hadamard_deviation(Phases x, std::size_t m,
                                            double tau0) {
  return over(hadamard_of(third_differences(x, m, x.size())), tau_of(m, tau0));
}

std::optional<double> max_time_interval_error(Phases x, std::size_t m) {
  assert(m >= 1);
  PhaseCells cells;
  cells_of(x, cells);
  CellTerms terms;
  terms.look_at(cells, x.size());
  return terms.widest_range(m);
}

}  // namespace clockassay
