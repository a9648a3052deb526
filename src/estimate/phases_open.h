// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "clockassay/estimate/edge_sums.h"

namespace clockassay {

/// What few sampling phases leave open of a period whatever the jitter [samples
/// a cycle]: with q phases, the least q up to 8 with 25 edges a phase or more
/// that the capture moves by fewer than four steps of a phase (chosen: so few
/// changes of phase show no bend), a line may be 1/q of a sample off over the
/// capture. 0 where there are more.
/// In:     period [samples] > 0, cycles > 0 in the capture
/// Source: docs/measurement-model.md#commensurate-sampling
double open_by_phases(double period_samples, double cycles);

/// Whether periods alternate: neighbouring ones deviate oppositely by more than
/// white jitter of the edges makes them, whose correlation is -1/2, by four
/// standard deviations of it (chosen: once in 30 000 by chance). False with
/// fewer than 16 periods.
bool periods_alternate(const PeriodSums& periods);

}  // namespace clockassay
