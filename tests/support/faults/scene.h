// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "clockassay/oscillator/clock_path.h"
#include "support/faults/draw.h"
#include "support/faults/fault_trial.h"
#include "support/faults/signal.h"

namespace clockassay::faults {

/// The capturing instrument and what its user says of it.
struct Instrument {
  double rate_hz = 100e6;
  double timebase_ppm = 0.0;             ///< what it is really off
  double half_width_ppm = 100.0;         ///< what is reckoned with
  std::optional<std::string> timebase;   ///< "10ppm"; absent: assumed
  std::optional<std::string> reference;  ///< "ref=10MHz±1ppm"
  double reference_ppm = 0.0;            ///< what the reference is really off
  double duration_s = 10e-3;
  double jitter_s = 0.0;
  bool csv = false;
};

/// A clock as the specification has it.
struct SpecClock {
  std::string channel;
  std::string expect;
  double make_ppm = 0.0;
  std::string tolerance;      ///< JSON
  std::string requirement;    ///< id, or empty
  std::string settle_within;  ///< or empty
};

struct SuspectText {
  std::string name;
  std::string frequency;
  std::string tolerance;
};

struct DrivenChannel {
  std::string name;
  Signal signal;
};

/// What happens to samples on their way to the file; moves the number of the
/// last one where some are lost.
using Damage = std::function<void(std::vector<SampledChannel>&,
                                  std::int64_t& last_sample, Draw&)>;

/// A board, an instrument, a specification and what a fault makes of them.
struct Scene {
  std::string source;            ///< "24MHz"
  double source_ppm = 0.0;       ///< what a healthy source is off
  std::vector<PathFactor> core;  ///< from the source to the split
  std::vector<std::vector<PathFactor>> branches;  ///< of each clock
  Instrument instrument;
  std::vector<SpecClock> clocks;
  std::vector<SuspectText> suspects;
  std::vector<DrivenChannel> channels;  ///< of the clocks, then others
  std::vector<ClockTruth> truth;        ///< of the clocks
  Damage damage = {};
  double written_over_rate = 1.0;  ///< of the sample rate in the file
  bool states_rate = true;
  bool may_alias = false;
  double counts_from_s = 0.0;  ///< what a pin shows before is not judged
  std::string story;
};

/// What a fault needs of a board to show itself.
struct Wishes {
  std::size_t clocks = 0;   ///< 0: one to three
  bool is_precise = false;  ///< few ppm of tolerance and uncertainty
  bool has_loop = false;    ///< a PLL in front of the split
  bool is_slow = false;     ///< a timer with a long period
  double least_hz = 0.0;    ///< of every clock
};

PathFactor factor_of(bool divides, const Rational& value);

/// "24MHz / 3 * 42 / 4 / 16", of source, core and branch.
std::string path_text(const Scene& scene, std::size_t clock);
/// What is expected of it.
ClockPath path_of(const Scene& scene, std::size_t clock);

/// A healthy board, or nullopt: what was drawn does not fit together, try
/// again.
std::optional<Scene> draw_scene(Draw& draw, const Wishes& wishes);

/// Each pin's clock can be seen in the capture, which is neither too short nor
/// too long to be worth it.
bool can_be_seen(const Scene& scene);

/// An error of that many ppm lies beyond a limit by more than is open about
/// it.
bool stands_out(const Scene& scene, double ppm);

/// The specification as its user writes it.
std::string specification_text(const Scene& scene);

/// "24MHz", "11.0592MHz": without rounding where it has at most six decimals.
std::string megahertz_text(double hz);

/// Values in MHz that crystals are commonly made for.
const std::vector<double>& usual_crystals_mhz();

/// Whether a clock at `ratio` of what is expected could as well be explained by
/// something else than the `causes`, as far as the capture can tell: another
/// usual crystal, a suspect, a slip of the path, numbers mixed up, a crystal
/// that is off.
bool has_other_reading(const Scene& scene, std::size_t clock, double ratio,
                       const std::vector<TrueCause>& causes);

}  // namespace clockassay::faults
