// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <vector>

#include "clockassay/capture/cycle_block.h"
#include "clockassay/edges/edge_store.h"

namespace clockassay {

/// Edges further than this fraction of a period from a line may be another
/// cycle's: one lost cycle leaves 0.5 somewhere.
inline constexpr double kRawResidual = 0.45;

/// Mean period of a packed block [ticks].
double mean_period(const CycleBlock& b);

/// The edges at these ticks, numbered as they stand.
std::vector<NumberedEdge> numbered(std::span<const std::int64_t> ticks);

/// Whether all periods are within a quarter of the given one, or as many
/// windows of it. Sampling alone changes one by less than a window, whatever
/// its length; between one and two an extra edge could split a long period.
bool periods_within(const CycleBlock& b, double period, double windows,
                    double window);

/// Whether a line through the raw numbering, of about the given period (absent:
/// the median gap), leaves every edge within kRawResidual of it: none is
/// missing, none too many. False below 64 cycles, where a lost cycle could hide
/// between residual and slope.
bool raw_numbering_fits(const CycleBlock& b, std::optional<double> period);

/// Whether a pulse was lost and an extra one came in its place, which changes
/// no number: a few edges are out of the middle of their neighbours by more
/// than jitter and sampling explain. Where many are, that is how the clock
/// runs.
bool pulse_displaced(const CycleBlock& b, bool rising_only, double window);

}  // namespace clockassay
