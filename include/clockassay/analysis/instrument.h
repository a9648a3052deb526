// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <string_view>

#include "clockassay/base/result.h"
#include "clockassay/base/units.h"
#include "clockassay/uncertainty/reference.h"
#include "clockassay/uncertainty/timebase.h"

namespace clockassay {

/// What is known of a capturing instrument. Absent: not stated.
struct Instrument {
  std::optional<Timebase> timebase;  ///< stated or calibrated
  /// How far its rate moves from one capture to another.
  std::optional<Ppm> timebase_stability;
  /// Of its own input, on every edge. It is in the scatter of the edges.
  std::optional<Seconds> input_jitter_rms;
  /// By how much rising and falling edges may be seen apart, either way.
  std::optional<Seconds> edge_skew;
  std::optional<ReferenceClock> reference;
};

/// Reads "25ppm" (stated) or "-12.3ppm±2ppm" (calibrated).
/// Errors: kUsage with what was found and what is allowed.
Result<Timebase> parse_timebase(std::string_view text);

/// Reads an instrument file (JSON with // comments): an object of texts
///   timebase            as parse_timebase()
///   timebase_stability  "1ppm"
///   input_jitter_rms    "50ps"
///   edge_skew           "2ns"
///   reference           as parse_reference()
/// Errors: kBadSpec with the JSON path, what was found and what is allowed; of
///         an unknown key the nearest known one.
Result<Instrument> parse_instrument(std::string_view json);

}  // namespace clockassay
