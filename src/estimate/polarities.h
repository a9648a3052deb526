// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>

#include "clockassay/estimate/edge_sums.h"
#include "estimate/window_likelihood.h"

namespace clockassay {

/// Slopes of a frame by the edges of one polarity alone.
struct PolaritySlopes {
  double rise = 0.0;
  double fall = 0.0;
};

/// Two polarities of one clock, with jitter of their own, are said to differ so
/// often by chance. Chosen: half-widths grow by less than 1 % on average.
inline constexpr double kPolaritiesByChance = 1.0 / 500.0;

/// The slopes of a line through each polarity, where they differ by more than
/// the edges' scatter about them explains (Student, Welch) and sampling may:
/// that moves a line of n edges by up to 1.5 windows/n, unless jitter evens it
/// out. In: window of an edge [ticks]
/// Source: docs/measurement-model.md#rising-and-falling-edges
std::optional<PolaritySlopes> differing_lines(const EdgeSums& sums,
                                              double window);

/// The most likely slopes of each polarity, where no common one is likely:
/// twice the logarithms of the likelihood lost by it, each polarity having
/// jitter of its own, exceed `limit`. In: together  the peak of both
std::optional<PolaritySlopes> differing_peaks(const WindowLikelihood& both,
                                              const LikelihoodPeak& together,
                                              double limit);

}  // namespace clockassay
