// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "clockassay/base/rational.h"
#include "clockassay/base/units.h"
#include "clockassay/base/warning.h"
#include "clockassay/estimate/frequency_estimate.h"
#include "clockassay/estimate/oscillator_character.h"
#include "clockassay/estimate/repair_spacing.h"
#include "clockassay/estimate/steady_periods.h"
#include "clockassay/estimate/tie_spectrum.h"
#include "clockassay/uncertainty/budget.h"
#include "clockassay/verdict/cause.h"
#include "clockassay/verdict/life_stack.h"
#include "clockassay/verdict/load_inference.h"
#include "clockassay/verdict/settling.h"
#include "clockassay/verdict/specification.h"

namespace clockassay {

enum class Decision { kPass, kUndecided, kFail };

/// "pass", "undecided", "fail".
const char* decision_name(Decision decision);

/// One limit looked at. `value` ± `expanded_uncertainty` is compared with
/// low … high, all in `unit`. Without limits what the clock may come to is
/// shown and `decision` means nothing. For "life" the value is the worse end
/// of where temperature and ageing may take the clock.
struct Check {
  /// "tolerance", "life", "requirement", "duty", "period_jitter", "settling"
  std::string check;
  std::string subject;  ///< what it is about, such as a requirement's title
  Decision decision = Decision::kUndecided;
  std::optional<double> value;
  std::optional<double> expanded_uncertainty;  ///< in `unit`
  std::optional<double> low;
  std::optional<double> high;
  std::string unit;
  std::string source;  ///< where the limit comes from
  std::optional<double> probability_of_conformity;
  /// That the decision is wrong: of a pass, that it does not conform all the
  /// same; of a fail, that it does (JCGM 106:2012: specific consumer's and
  /// producer's risk). Absent where nothing is decided.
  std::optional<double> specific_risk = {};
  bool advisory = false;       ///< shown, never decides
  bool counts_pulses = false;  ///< see RequirementAsked
  /// Which of the clock's requirements it is of, from 0; absent: of none.
  std::optional<std::size_t> requirement = {};
  std::string requirement_id = {};  ///< of that one
};

/// What would turn an undecided check of the frequency into a decision. Absent:
/// that is not what is lacking, or no such figure decides.
struct ToDecide {
  std::string check;                ///< subject of the check that asks most
  bool can_pass = false;            ///< the verdict, with that decided
  Ppm margin{0.0};                  ///< from the clock to its nearest limit
  Ppm aim{0.0};                     ///< U that decides it, wherever U leaves it
  bool on_limit = false;            ///< closer than the best measurement tells
  std::optional<Ppm> timebase;      ///< tolerance it must be known to
  std::optional<Ppm> calibration;   ///< of a clock to measure it with before
  std::optional<Ppm> reference;     ///< of a clock in the same capture
  std::optional<Seconds> duration;  ///< of the capture, at its sample rate
  std::optional<Hertz> sample_rate;  ///< of a capture as long as this
  /// Duration or rate decide with the timebase as it is; else both are needed.
  bool capture_alone = false;
};

struct Verdict {
  std::string clock;
  std::string capture;  ///< path
  std::optional<std::string> channel;
  Decision decision = Decision::kUndecided;
  std::string expected;  ///< exact rational, hertz, as text
  Hertz expected_frequency;
  std::optional<Ppm> error;  ///< absent: no clock there
  std::optional<Ppm> expanded_uncertainty;
  double coverage = 0.95;
  std::optional<Hertz> implied_source;
  Hertz nominal_source;
  std::optional<double> probability_of_conformity;  ///< of the tolerance check
  std::vector<Check> checks;
  std::optional<LifeStack> life = {};  ///< where `life` is checked
  std::vector<Cause> causes;
  std::vector<std::string> reasons;        ///< why this decision, in sentences
  std::vector<std::string> advice;         ///< what to do, what would decide it
  std::optional<ToDecide> to_decide = {};  ///< where a ppm check is undecided
  std::vector<Warning> warnings;  ///< that judging it adds to the capture's
  /// Where a load is stated and nothing else explains the frequency.
  std::optional<LoadInference> load;
};

/// Another clock of the same capture, held against the one that is judged. Both
/// share the instrument's time, which so drops out of what they differ by.
struct OtherClock {
  std::string name;
  bool same_source = false;  ///< both are expected from one source
  /// Factors of the path, from the source on, that both have in common.
  std::size_t shared_factors = 0;
  bool is_right = false;  ///< within its own make tolerance
  /// Off by the same ratio, as far as the capture shows; of two sources, as far
  /// as both may be off by themselves.
  bool agrees = false;
  Ppm error;  ///< of the other, relative to what is expected of it
  /// Of this clock against `slip` times it: what their source does drops out.
  Ppm difference;
  Ppm allowed;           ///< what the two may differ by
  Rational expected_hz;  ///< of the other
  /// The ratio of small whole numbers that the two are apart by, over what is
  /// expected: a slip of one of them.
  Rational slip{1};
  /// Of another source, and off by the same as far as the capture itself tells:
  /// that two sources meet so closely is hardly chance.
  bool coincides = false;
};

/// A stretch before the last, of the same clock as far as both show.
struct EarlierStretch {
  Seconds from;  ///< since the first stamp
  Seconds to;
  Budget budget;
};

/// What the judge needs of one channel.
struct ClockEvidence {
  std::string capture;
  std::string channel;
  Budget budget;
  Timebase timebase;
  std::vector<Warning> warnings;  ///< of the channel and of its capture
  Seconds duration;               ///< first to last edge used
  /// Of the instrument; where it is not known, the longest it can be.
  std::optional<Seconds> sample_interval;
  /// As stated, or as the edges show it; absent: no alias can be looked for.
  std::optional<Rational> sample_rate_hz;
  /// Where that is open: what it may be as well.
  std::vector<Rational> possible_rates_hz;
  /// Where something broke the clock's run but not its frequency: the longest
  /// stretch, if that is not the last, whose figures the budget holds.
  std::optional<EarlierStretch> longest_stretch = {};
  /// Where a few periods are off the others: the frequency that those others
  /// give, against that of all.
  std::optional<SteadyPeriods> steady_periods = {};
  std::optional<RegularRepairs> regular_repairs = {};
  Ppm as_captured{0.0};  ///< see ChannelResult
  /// The longest stretch before the last of another frequency.
  std::optional<EarlierStretch> other_frequency = {};
  /// For the settling of a clock whose specification states a time for it.
  FrequencyHistory history;
  // What speaks for one cause or another, where it is known.
  std::optional<OscillatorCharacter> character = {};
  std::optional<SpreadSpectrum> spread = {};
  std::optional<DutyEstimate> duty = {};
  bool skew_stated = false;  ///< what the instrument adds to a duty is in it
  std::optional<Jitter> jitter = {};
  std::optional<Seconds> window = {};  ///< within which an edge is known
  std::optional<Seconds> input_jitter_rms = {};  ///< where that is stated
  std::vector<OtherClock> others = {};
};

/// Guarded acceptance with guard band w = U (JCGM 106:2012): pass if
/// [e - U, e + U] lies within the limits, fail if it lies outside, else
/// undecided. Bounds are inclusive for pass; fail needs e - U > high or
/// e + U < low. Undecided also when anything is not finite, U is not
/// positive, or low > high.
Decision decide(double e, double U, double low, double high);

/// Judges one clock: its checks, the worst of those that may decide, and when
/// that is no pass why, what may be the cause, and what would settle it.
/// Errors and uncertainties are ppm of the *expected* frequency, positive is
/// fast. A warning that forbids a pass turns pass to undecided and says so, one
/// that forbids a fail, such as a spectral check that disagrees, fail as well;
/// a figure that is not a usable number is undecided. No fail is shown where
/// the expected clock would have fewer than three samples a period and could
/// look like any slower one, nor where a longer stretch of the same clock, or
/// its periods but for a few, would not fail: undecided. A suspect or a slip of
/// the path above half the sample rate that would look like the measured clock
/// is an alias_candidate, which forbids a pass, and is listed with the causes.
/// Source: docs/verdict.md
Verdict judge_clock(const ClockSpec& clock,
                    const std::vector<Suspect>& suspects,
                    const ClockEvidence& evidence);

/// The verdict on a clock whose channel is there but never forms a cycle
/// (constant), or is missing: fail.
Verdict judge_missing_clock(const ClockSpec& clock, std::string capture,
                            std::string why);

/// The verdict on a clock that has edges, but too few or too irregular ones for
/// a frequency: undecided.
Verdict judge_unmeasured_clock(const ClockSpec& clock, std::string capture,
                               std::string channel, std::string why);

}  // namespace clockassay
