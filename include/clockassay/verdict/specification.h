// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "clockassay/base/quantity_text.h"
#include "clockassay/base/rational.h"
#include "clockassay/base/result.h"
#include "clockassay/base/units.h"
#include "clockassay/oscillator/clock_path.h"
#include "clockassay/oscillator/load_network.h"
#include "clockassay/oscillator/requirements.h"

namespace clockassay {

enum class CombineRule { kSum, kRootSumSquare };

/// What the source of a clock is allowed: bands around its nominal, in ppm.
struct SourceTolerance {
  ToleranceBand make;                        ///< at the temperature of capture
  std::optional<ToleranceBand> temperature;  ///< relative to 25 degC
  std::optional<ToleranceBand> ageing;
  CombineRule combine = CombineRule::kSum;
  /// Of the capture, in degrees Celsius; absent: taken to be about 25.
  std::optional<Rational> captured_at_c = {};
};

/// What the limits of a requirement were worked out from, where that may be set
/// otherwise.
struct RequirementSetUp {
  std::string name;    ///< "this bit timing", as the subject of a sentence
  std::string advice;  ///< what leaves more, as a sentence
  /// Of a divisor, which shifts the limits: its own error.
  std::optional<Rational> divisor_error_ppm = {};
};

/// One interface asked for: a row of the table, or one worked out from
/// parameters (CAN bit timing).
struct RequirementAsked {
  std::string id;
  std::string title;
  std::optional<ToleranceBand> limits_ppm;  ///< absent: of its duty alone
  std::string source;                       ///< standard and clause
  bool may_decide = true;                   ///< false: advisory, never decides
  /// What it is asked of, where that is one frequency.
  std::optional<Rational> nominal_hz = {};
  std::optional<DutyBand> duty = {};  ///< of a pin that carries the nominal
  /// What it limits is a count of pulses: one that is missing is time lost.
  bool counts_pulses = false;
  std::optional<RequirementSetUp> set_up = {};  ///< absent: none to change
};

/// Whether a pin of that frequency carries the clock asked for, and not only
/// one of the same path: only there its duty is that clock's.
bool is_asked_of(const RequirementAsked& asked, const Rational& frequency_hz);

/// The crystal of a clock and what loads it, as stated.
struct LoadSpec {
  Farads nominal;  ///< what the crystal is made for
  std::optional<CapacitorPair> capacitors = {};
  std::optional<Farads> stray_across = {};   ///< not both
  std::optional<Farads> stray_per_pin = {};  ///< from each pin to ground
  std::optional<Farads> c0 = {};             ///< as published
  std::optional<Farads> c1 = {};
};

struct ClockSpec {
  std::string name;
  std::optional<std::string> channel;  ///< absent: the only clock there is
  ClockPath expect;
  /// Clocks of one name have one source. Absent: those of one frequency have.
  std::optional<std::string> source = {};
  SourceTolerance tolerance;
  std::vector<RequirementAsked> requirements;
  std::optional<DutyBand> duty = {};             ///< of the clock at the pin
  std::optional<Rational> period_jitter_s = {};  ///< rms at most, at the pin
  /// Since the first stamp: until then the frequency may change. Absent: never.
  std::optional<Rational> settle_within_s = {};
  std::optional<LoadSpec> load = {};
  /// How something was read that may be meant otherwise, in sentences.
  std::vector<std::string> remarks = {};
};

/// A source the board may run from instead of the expected one.
struct Suspect {
  std::string name;
  Rational frequency_hz;
  ToleranceBand tolerance_ppm;
};

struct Specification {
  std::string title;
  std::vector<ClockSpec> clocks;
  std::vector<Suspect> suspects;
};

/// Reads a specification (JSON with // comments). Unknown and repeated keys,
/// wrong types and impossible values are errors (kBadSpec) that name the JSON
/// path ("/clocks/0/tolerance"), what was found, and what is allowed or the
/// nearest known key. Keys whose check this version does not do are refused by
/// name, never ignored.
Result<Specification> parse_specification(std::string_view json);

/// A specification of one clock from --expect, --tolerance, --requirement
/// ("usb-fs-device", "can-classic,sjw=1,tbit=16,pb1=5,pb2=4").
/// Errors: kUsage, beginning with the option.
Result<Specification> specification_from_options(
    std::string_view expect, std::string_view tolerance,
    const std::vector<std::string>& requirements);

}  // namespace clockassay
