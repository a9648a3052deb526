// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <span>

#include "clockassay/estimate/wander.h"

namespace clockassay {

/// What the edges of one part of a view say of their place off a fitted line.
struct PartScore {
  double score = 0.0;        ///< place times information
  double information = 0.0;  ///< 1/variance of the place, jitter being white
};

/// Equal parts in time that scatter is looked for among: those of one pass over
/// the residuals.
inline constexpr std::size_t kScatterParts = kWanderParts;

/// Half-width at 95 % of the line's slope, per whole view, by the scatter of
/// the slopes of its quarters; absent when the places of the parts scatter no
/// more than white jitter explains (once in a hundred more than that). Model:
/// the clock's frequency wanders: quarters differ. Where halving a part
///         doubles the slopes' variance, or more, the deviations average out
///         and the mean of four is four times as certain; otherwise they do
///         not, and the whole is no more certain than a quarter.
/// In:     kScatterParts parts, in order; unit of place
/// Out:    same unit, per length of the view
/// Source: docs/measurement-model.md#scatter
std::optional<double> scatter_half_width(std::span<const PartScore> parts);

}  // namespace clockassay
