// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "clockassay/base/units.h"
#include "clockassay/oscillator/load_network.h"

namespace clockassay {

enum class LoadOutcome {
  kConsistent,    ///< with the nominal load: nothing calls for a change
  kDiffers,       ///< not the nominal load, if the crystal keeps its tolerance
  kNeverTheLoad,  ///< beyond what any load does to this crystal
};

/// "consistent", "differs", "never_the_load".
const char* load_outcome_name(LoadOutcome outcome);

/// The stray that the seen load leaves beside the capacitors stated, these
/// within their tolerance. Negative: they alone are more.
struct ImpliedStray {
  bool per_pin = false;        ///< from each pin to ground, else across
  std::optional<Farads> best;  ///< where there is a best load
  Farads low;
  std::optional<Farads> high;      ///< absent: no upper bound
  std::optional<Farads> stated;    ///< by the specification
  bool agrees_with_stated = true;  ///< lies between low and high
};

/// A pair of capacitors and the error expected with it: `predicted` for the
/// crystal reckoned with, from `low` to `high` for all it may be, with what
/// the measurement and the capacitors' tolerance leave open.
struct CapacitorFit {
  CapacitorPair capacitors;
  Ppm predicted;
  Ppm low;
  Ppm high;
  /// Even at its worst nearer to what is aimed at than the clock is now.
  bool is_sure_to_help = false;
  bool is_within_limits = true;  ///< `predicted`, of the make tolerance
};

/// What the frequency says of the load the crystal sees.
/// The interval counts U, the make tolerance of the crystal (all of it, it
/// may itself be off) and the range of C1 and C0 where they are assumed.
/// Source: docs/load.md#inference
struct LoadInference {
  LoadOutcome outcome = LoadOutcome::kConsistent;
  Farads nominal;
  /// What the crystal is taken to be off by at its nominal load, and what
  /// capacitors are to bring it to: nothing, or the middle of a make tolerance
  /// that does not contain the expected frequency.
  Ppm aim;
  std::optional<Farads> seen;  ///< best; absent: none for typical C1 and C0
  Farads seen_low;             ///< of kNeverTheLoad without meaning
  std::optional<Farads> seen_high;  ///< absent: no upper bound
  std::optional<CapacitorPair> fitted;
  std::optional<ImpliedStray> stray;
  std::optional<CapacitorFit> fit;      ///< what to fit instead
  std::optional<CapacitorFit> closest;  ///< where it is another and closer
  /// No capacitors at all, where those to fit are hardly any.
  std::optional<CapacitorFit> without;
  double capacitor_tolerance = 0.05;  ///< reckoned with, of new and old
  Ppm slowest;  ///< what loads alone can do to the crystal
  Ppm fastest;
  std::vector<std::string> assumed;  ///< what was not stated, in words
};

}  // namespace clockassay
