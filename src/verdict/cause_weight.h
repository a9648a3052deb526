// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "clockassay/estimate/tie_spectrum.h"
#include "clockassay/uncertainty/timebase.h"
#include "clockassay/verdict/cause.h"
#include "clockassay/verdict/specification.h"
#include "verdict/checks.h"

// How much a cause explains: how often such a thing happens, times the density
// it gives to the frequency that was measured, per ppm. A cause that fits
// anything gives little to any one frequency.
// Source: docs/verdict.md#causes
namespace clockassay {

/// How often it is what went wrong, among all that does; of the whole kind,
/// whose members share it. Common practice, no source.
double usual_share(CauseCode code);

/// Of the capturing instrument: the better its time is known the less.
double timebase_share(TimebaseKind kind);

/// Of a frequency known to lie anywhere within ±window_ppm of the hypothesis.
double window_density(double window_ppm);

/// Of a crystal off by error.ppm through its load or by itself, specified to
/// ±make_ppm: usually by some tens of ppm, at times by hundreds, never beyond
/// kLoadBoundPpm.
double crystal_off_density(const MeasuredError& error, double make_ppm);

/// Of a source that is no crystal, specified to ±make_ppm, off by error.ppm.
double source_off_density(const MeasuredError& error, double make_ppm);

/// Of a timebase beyond what is stated of it.
double timebase_off_density(const MeasuredError& error);

/// Of something that gives no figure but may take the clock anywhere within
/// ±reach_ppm.
double anywhere_density(double error_ppm, double reach_ppm);

/// Where the expected frequency lies in a spread that is seen.
enum class SpreadPlace {
  kDown,    ///< at its upper end: the mean is half the depth below
  kCentre,  ///< in the middle
  kOther    ///< the spread alone does not explain the mean
};

/// Of a source specified to ±make_ppm.
SpreadPlace spread_place(const SpreadSpectrum& spread,
                         const MeasuredError& error, double make_ppm);

/// Of a clock with a spread that is seen: where that puts the mean, else
/// anywhere within kSpreadReachPpm.
double spread_density(const SpreadSpectrum& spread, const MeasuredError& error,
                      double make_ppm);

/// What something nobody thought of gives to any frequency: what explains less
/// explains nothing.
double unknown_weight();

/// The wider side of what the source was made to.
double make_ppm(const ClockSpec& clock);

/// A source specified wider than this has no crystal.
inline constexpr double kNoCrystalPpm = 1000.0;

/// The load alone keeps a crystal between its series and its parallel
/// resonance, C1 / (2 C0) apart: 2000 to 2800 ppm for C0/C1 of 250 to 180,
/// usual for AT cuts.
inline constexpr double kLoadBoundPpm = 3000.0;

/// What missing or wrong load capacitors usually do. Calculated with the load
/// equation: a crystal of C1 = 8 fF, C0 = 3 pF for 18 pF with both capacitors
/// missing (2.5 pF left) runs 537 ppm fast.
inline constexpr double kUsualLoadPpm = 600.0;

/// Down to half a per cent below or so much to either side.
inline constexpr double kSpreadReachPpm = 6000.0;

}  // namespace clockassay
