// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "clockassay/base/rational.h"
#include "clockassay/base/result.h"
#include "clockassay/base/units.h"
#include "clockassay/estimate/clock_estimate.h"
#include "clockassay/estimate/clock_ratio.h"
#include "clockassay/uncertainty/budget.h"
#include "clockassay/uncertainty/timebase.h"

namespace clockassay {

/// A clock of known frequency that is recorded beside the others.
struct ReferenceClock {
  std::string channel;
  Rational frequency_hz = Rational(1);
  /// Half-width, rectangular; absent: not stated, and not exact either.
  std::optional<Rational> tolerance_ppm;
};

/// "CHANNEL=FREQ" or "CHANNEL=FREQ±TOL"; the last "=" parts them.
/// Errors: kUsage with what was found and what is allowed.
Result<ReferenceClock> parse_reference(std::string_view text);

/// The tolerance reckoned with: as stated, else that of a timebase of which
/// nothing is stated.
Ppm reference_tolerance(const ReferenceClock& reference);

/// What the capture says of its own timebase: that of the reference is stated,
/// so by how much it reads wrong is the timebase's deviation.
/// Out: kind kReference; the tolerance holds that of the reference and what
///      sampling and jitter leave of it at 95 %.
Timebase timebase_by_reference(const ReferenceClock& reference,
                               const FrequencyEstimate& seen);

/// The budget of a clock measured against a reference.
/// Model:  f = f_ref * ratio * (1 + r),  r rectangular within the reference's
///         tolerance; the ratio normal, by the half-widths that sampling and
///         jitter of the two leave, independent of each other
/// In:     estimate  of the clock in the capture's own time, as for
///         make_budget()
/// Source: docs/uncertainty.md#a-reference-channel
Budget make_budget_against(const ReferenceClock& reference,
                           const FrequencyEstimate& estimate,
                           const ClockRatio& ratio, double coverage);

/// The budget of the reference itself: as stated.
Budget budget_of_reference(const ReferenceClock& reference,
                           const FrequencyEstimate& seen, double coverage);

}  // namespace clockassay
