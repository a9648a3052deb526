// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>

#include "clockassay/plan/capture_plan.h"

// What the parts of a plan of a capture share.
namespace clockassay {

inline constexpr double kPartsPerMillion = 1e-6;

/// Below, the estimate is an interval only (docs/measurement-model.md).
inline constexpr double kFewestToDecide = 5.0;

double half_of_limits(const CapturePlan& plan);

/// Rectangular part of U [ppm]: the reference's where there is one.
double rectangle_of(const CapturePlanInput& input);

/// U [ppm]; 0 where neither part is.
double expanded_of(double rectangle, double sigma, double coverage);

/// Half-widths of estimates are at 95 %.
double sigma_of(Ppm half_width);
Ppm half_width_of(double sigma);

double sample_rate(const CapturePlan& plan);
double expected_hz(const CapturePlan& plan);

/// The expected clock as the instrument's own time shows it.
double indicated_hz(const CapturePlan& plan);

/// Clocks off by up to `times` what they are allowed and U besides, by the
/// instrument's time.
CaptureSetting clocks_within(const CapturePlan& plan, double times,
                             double u_ppm);

/// Of clocks off by up to twice what they are allowed.
CaptureWidth width_at(const CapturePlan& plan, double rate, Seconds time);

/// Normal part of U [ppm]: the capture's, and with a reference what the sampler
/// may leave of that at worst.
double capture_sigma(const CapturePlan& plan, double rate, Seconds time,
                     bool reference);

/// The shortest capture with five cycles of the reference, if its frequency is
/// stated.
std::optional<Seconds> least_for_reference(const CapturePlan& plan);

/// The same in two digits, rounded up, as it is said.
std::optional<Seconds> reference_needs(const CapturePlan& plan);

/// How long a capture leaves no more than that to the normal part, a 95 %
/// half-width: whatever the clock locks to; and by the width of the clocks that
/// may be there.
Seconds safe_duration(const CapturePlan& plan, double width_ppm);
Seconds duration_by_width(const CapturePlan& plan, double width_ppm);

/// Two digits, on the safe side.
double two_digits_up(double value);
double two_digits_down(double value);

}  // namespace clockassay
