// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "analysis/channel_analysis.h"
#include "clockassay/analysis/record.h"
#include "clockassay/base/parallel.h"

namespace clockassay {

/// What the clock behaves like, where it does not pass what it is expected to
/// by its own figures, or a warning of it forbids that: stability and spectrum
/// are worked out aside and only what they say is kept. Nothing for any other
/// clock, nor where measurement has said it already. Of the last cycles where
/// there are many.
/// In:     a channel with all its warnings
/// Cost:   of 2^20 cycles at most
/// Source: docs/stability.md#character, docs/verdict.md#evidence
void tell_character(const Setting& s, const ChannelRecord& record,
                    const AnalysedStretch& last,
                    const ParallelFor& parallel_for, ChannelResult& result);

}  // namespace clockassay
