// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <vector>

#include "clockassay/verdict/verdict.h"

namespace clockassay {

/// The measured error relative to the expected frequency, in ppm of it.
struct MeasuredError {
  double ppm = 0.0;
  double expanded_ppm = 0.0;       ///< U
  ErrorDistribution distribution;  ///< where U comes from
  double coverage = 0.95;
};

/// Whether the figures are numbers and the uncertainty is more than nothing;
/// otherwise nothing can be decided.
bool is_usable(const MeasuredError& error);

/// The error of `budget` against `expected_hz`. Its uncertainties are ppm of
/// the measured frequency; here they become ppm of the expected one.
MeasuredError measured_error(const Budget& budget, double expected_hz);

/// What bands over temperature are relative to, as data sheets have it.
inline constexpr double kBandCelsius = 25.0;

/// How far the clock may move over its life from where it is, in ppm:
/// low <= 0 <= high.
struct LifeBand {
  double low = 0.0;
  double high = 0.0;
};

/// Whether the capture is stated to be taken so far from 25 degC that where in
/// the band over temperature the clock is now is not known.
bool is_far_from_band_zero(const SourceTolerance& tolerance);

/// How far temperature may take it: by [l, h] from where it is at 25 degC; by
/// [l - h, h - l] from anywhere in [l, h]. None where it is not stated.
LifeBand temperature_moves(const SourceTolerance& tolerance);

/// Temperature and ageing together, by the rule of `tolerance`; a band that
/// does not contain zero is widened to it, because the clock may also stay
/// where it is. Absent when neither is stated.
std::optional<LifeBand> life_band(const SourceTolerance& tolerance);

/// The checks of a clock's frequency: `tolerance`, each `requirement` that
/// limits it, and, where temperature or ageing is stated, `life` against each
/// of these, or against nothing when there is none. Model of `life`: the worse
/// end of e plus the band, ± U, against the limits.
///   pass when all of it lies within; fail only when e ± U itself lies outside
///   (now is part of life); else undecided.
std::vector<Check> make_checks(const ClockSpec& clock,
                               const MeasuredError& error);

/// The worst of the checks that may decide; undecided when none does.
Decision worst_decision(const std::vector<Check>& checks);

}  // namespace clockassay
