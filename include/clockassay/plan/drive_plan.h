// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "clockassay/base/electric_units.h"
#include "clockassay/base/result.h"
#include "clockassay/oscillator/load_network.h"
#include "clockassay/oscillator/oscillator_gain.h"

namespace clockassay {

struct DrivePlanInput {
  Hertz frequency;
  Ohms r1;  ///< motional; of a data sheet the largest ESR
  Farads c0;
  Farads load;  ///< seen by the crystal
  /// All capacitance from the input and from the output pin to ground.
  /// Absent: equal ones that are the load.
  std::optional<CapacitorPair> legs = {};
  std::optional<Farads> c1 = {};
  std::optional<Siemens> gm = {};
  std::optional<Ohms> output_resistance = {};  ///< absent: ideal, at most
  std::optional<Volts> swing = {};  ///< peak to peak at the output pin
  std::optional<Watts> drive_limit = {};
  std::optional<Ohms> series_resistor = {};  ///< fitted
  /// The largest resistor in series with the crystal with which it starts.
  std::optional<Ohms> still_starts = {};
};

/// Drive with a resistor between output and crystal.
struct DriveWith {
  Ohms resistor;  ///< 0: none
  Volts swing;    ///< at the crystal's pin
  Amperes current_rms;
  Watts power;
};

/// More drive than a crystal bears.
struct DriveExcess {
  Watts power;  ///< now
  Watts limit;
  bool is_usual = false;       ///< of tuning forks; none is stated
  std::optional<Ohms> series;  ///< resistor that brings the sine to the limit
};

/// What tuning forks bear: the least and the most that is usual.
/// Source: docs/plan.md#drive
inline constexpr Watts kForkDriveLow(0.2e-6);
inline constexpr Watts kForkDriveHigh(1e-6);

/// Gain of an amplifier that has an output resistance, with a resistor between
/// it and the crystal.
struct GainWith {
  Ohms resistor;               ///< 0: none
  Ohms negative;               ///< R' at gm
  double safety_factor = 0.0;  ///< R'/R1
  std::optional<double>
      margin;  ///< gm over what starts it; absent: it does not
};

/// How long a start takes: 9 to 15 growth times, over the range of C1.
struct StartUp {
  Seconds growth_low;
  Seconds growth_high;
  Seconds shortest;
  Seconds longest;
};

struct DrivePlan {
  DrivePlanInput input;
  OscillatorLegs legs;
  Ohms rl;             ///< at the load resonance
  Ohms most_negative;  ///< what no amplifier exceeds
  /// Absent, and the margin: no gain makes as much as R1.
  std::optional<Siemens> critical;
  std::optional<Siemens> asked_for;  ///< usual: kUsualMargin times that
  Siemens best;                      ///< gm of most_negative
  bool too_much_gain = false;        ///< gm above that
  /// gm over critical; absent too where gm is more and yet does not start:
  /// above `starts`, or below it and still above what is critical to first
  /// order.
  std::optional<double> margin;
  std::optional<StartingGain> starts;            ///< with which gm, exactly
  std::optional<Ohms> negative;                  ///< R' at gm
  std::optional<double> safety_factor;           ///< R'/R1
  std::optional<double> measured_safety_factor;  ///< by still_starts
  Ohms series_start;                             ///< to begin trials with
  std::optional<Ohms> series_for_limit;  ///< absent: no limit, or within it
  /// Where the drive now, as fitted or without a resistor, is more than the
  /// limit, or, none stated, than tuning forks usually bear.
  std::optional<DriveExcess> excess;
  std::optional<Amperes> limit_current_pp;  ///< of the drive limit
  std::optional<Volts> limit_swing;         ///< at the crystal's pin
  std::optional<GainWith> gain_without;
  std::optional<GainWith> gain_with_start;
  std::optional<GainWith> gain_as_fitted;
  std::optional<DriveWith> without;
  std::optional<DriveWith> with_start;   ///< with series_start
  std::optional<DriveWith> with_fitted;  ///< with the one fitted
  std::optional<StartUp> start_up;       ///< absent too where it never starts
  std::vector<std::string> c1_assumed;   ///< for start_up
  bool maybe_overtone = false;
  std::vector<std::string> missing;  ///< "--gm: margin, ..."
};

/// What is usually asked for. Not agreed; the maker of the part goes first.
/// Source: docs/plan.md#drive
inline constexpr double kUsualMargin = 5.0;
inline constexpr double kUsualSafetyLow = 2.0;
inline constexpr double kUsualSafetyHigh = 10.0;

/// Whose gain is the nearest to that of the board, of what is stated.
enum class BoardGainOf {
  kAsFitted,         ///< output resistance and the resistor fitted
  kWithoutResistor,  ///< output resistance; no resistor is fitted
  kIdealAmplifier,   ///< neither: the most there is
};

struct BoardGain {
  BoardGainOf of = BoardGainOf::kIdealAmplifier;
  std::optional<double> margin;  ///< absent: it does not start
  double safety_factor = 0.0;
  Ohms negative;
};

/// In:  a plan with gm
BoardGain board_gain(const DrivePlan& plan);

/// Gain, drive and start-up of a crystal in a Pierce oscillator.
/// Errors: kUsage where the legs alone are more than the load
/// Source: docs/plan.md#drive
Result<DrivePlan> plan_drive(const DrivePlanInput& input);

}  // namespace clockassay
