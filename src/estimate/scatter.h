// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <span>

#include "clockassay/estimate/wander.h"
#include "estimate/noise_types.h"

namespace clockassay {

/// What the edges of one part of a view say of their place off a fitted line.
struct PartScore {
  double score = 0.0;        ///< place times information
  double information = 0.0;  ///< 1/variance of the place, jitter being white
};

/// Equal parts in time that scatter is looked for among: those of one pass over
/// the residuals.
inline constexpr std::size_t kScatterParts = kWanderParts;

/// As many equal parts as have the same variance of their weighted squares.
double effective_parts(std::span<const PartScore> parts);

/// Whether the places of the parts scatter more than white jitter explains;
/// twice in a hundred by chance.
/// In:     kScatterParts parts, in order; parts without information say nothing
/// Source: docs/measurement-model.md#scatter
bool is_scattered(std::span<const PartScore> parts);

/// Whether the places of neighbouring parts lie to one side more than white
/// jitter takes them four times in five: among few edges that is reason enough
/// to reckon with jitter that accumulates.
bool may_walk(std::span<const PartScore> parts);

/// Half-width at 95 % of the line's slope, per whole view, by the noise that
/// the places of the parts show; absent when too few say anything.
/// In:     unit of place; dof  of the jitter that their information was worked
///         out with; sampling  variance of a part's place that no number of
///         edges averages out
/// Out:    same unit, per length of the view
/// Source: docs/measurement-model.md#scatter
std::optional<double> scatter_half_width(
    std::span<const PartScore> parts, double dof, double sampling,
    std::span<const Noise> kinds = kAllNoise);

}  // namespace clockassay
