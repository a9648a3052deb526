// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>

#include "clockassay/plan/capture_plan.h"

// What the sampler makes of the clocks a plan is about.
namespace clockassay {

/// Samples of a period and of its shorter half at the fastest clock that the
/// plan promises anything of, and whether none of these clocks can show all of
/// its pulses one sample long, which forbids a decision.
/// Source: docs/plan.md#capture
PulseSampling sample_pulses(const CapturePlan& plan, double rate);

/// Of a period, the shorter of high and low, at its shortest.
double shorter_half(const CapturePlanInput& input);

struct ClockBand {
  Hertz low;
  Hertz high;
};

/// Clocks of that duty that show in a capture as planned, whatever they are.
ClockBand clocks_shown(const CapturePlan& plan);

/// Whether it has samples enough, if its frequency is stated.
bool is_reference_seen(const CapturePlan& plan);

/// Samples a period, duty, phases, aliases, and the rates that would be better.
/// In:     the plan's duration, width and U
void add_sampling(CapturePlan& plan);

}  // namespace clockassay
