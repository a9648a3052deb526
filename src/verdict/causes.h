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
/// does.
struct Diagnosis {
  std::vector<Cause> causes;  ///< by rank; empty: nothing explains it
  std::string nearest;        ///< a sentence; only when causes is empty
};

/// Ranks the hypotheses that fit. A hypothesis fits when the measured
/// frequency differs from its own by no more than U and the tolerance of its
/// source together.
/// Order:  fewer slips first; a hypothesis whose window is kCoincidence times
///         wider than the narrowest that fits goes behind it; what is then
///         equal has equal rank and its evidence says what else it may be.
///         Within a rank, suspects somebody named first, then the smaller
///         residual (in windows). Two slips whose window is that much wider
///         than the narrowest are left out: they fit nearly anything.
/// An alias is two slips, that of its clock and the sample rate, but for the
/// expected clock's own.
/// A crystal off its frequency (load capacitors, the part itself) is one
/// hypothesis more, within what physics allows.
Diagnosis diagnose(const ClockSpec& clock, const std::vector<Suspect>& suspects,
                   Hertz measured, const MeasuredError& error,
                   const std::vector<AliasCandidate>& aliases = {});

}  // namespace clockassay
