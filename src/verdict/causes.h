// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "clockassay/verdict/verdict.h"
#include "verdict/aliasing.h"
#include "verdict/checks.h"

namespace clockassay {

/// What may explain a measured frequency, and what came nearest when nothing
/// explains the figure.
struct Diagnosis {
  std::vector<Cause> causes;  ///< by rank
  std::string nearest;        ///< a sentence, or empty
};

/// Says in each cause which others of its rank fit as well.
void say_ambiguous(std::vector<Cause>& causes);

/// Spread spectrum by itself, of a clock whose mean is right.
/// In:     evidence.spread
Cause spread_alone(const ClockSpec& clock, const ClockEvidence& evidence,
                   const MeasuredError& error);

/// Ranks what may be the cause. A hypothesis with a figure fits when the
/// measured frequency differs from its own by no more than U and the tolerance
/// of its source together. Order:  by weight: how often such a thing happens
/// (usual_share(), a kind's
///         members sharing it), times the density it gives to the measured
///         frequency, times what the rest of the capture says of it
///         (weigh_evidence()). What is within ten times of the best has its
///         rank, and so has what means the same figure; its evidence says what
///         else it may be. Within a rank, suspects somebody named first.
/// Out:    causes worth a thousandth of the best and more, and more than what
///         nobody thought of (unknown_weight()); at most eight, three of them
///         two slips
/// Source: docs/verdict.md#causes
Diagnosis diagnose(const ClockSpec& clock, const std::vector<Suspect>& suspects,
                   const ClockEvidence& evidence, const MeasuredError& error,
                   const std::vector<AliasCandidate>& aliases = {});

}  // namespace clockassay
