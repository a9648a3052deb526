// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "clockassay/analysis/drift_result.h"
#include "clockassay/analysis/record.h"
#include "clockassay/base/result.h"
#include "clockassay/history/comparison.h"

namespace clockassay {

/// What a stored result says of one clock.
struct StoredClock {
  std::string channel;
  Hertz indicated;    ///< by the timebase of the capture, uncorrected
  Hertz frequency;    ///< the offset of the timebase, or the reference, applied
  Ppm u;              ///< of the capture alone, k = 1
  Timebase timebase;  ///< that it was measured by
  Ppm half_width;     ///< what that leaves open
  std::vector<PointWarning> warnings;  ///< of the channel and of the capture
  /// Rms of the periods, where sampling did not make most of it.
  std::optional<Seconds> period_jitter;
  std::optional<Figure> edge_jitter;  ///< seconds; k = 1
  std::optional<Figure> duty;         ///< k = 1
};

/// A JSON result of `measure` or `verify` of one capture.
struct StoredResult {
  std::string capture;  ///< the path that was measured
  std::vector<Tag> tags;
  std::vector<StoredClock> clocks;
  std::vector<std::string> idle;  ///< channels without a clock
};

/// Whether a text is meant for JSON: neither a CSV nor a VCD file begins so.
bool looks_like_json(std::string_view beginning);

/// Reads a result in the schema clockassay/1.
/// Errors: kBadData with the JSON path, what was found and what was expected;
///         also for a result of several captures, or of none
Result<StoredResult> parse_stored_result(std::string_view json);

/// What a comparison takes of it.
ClockSeen seen_of(const StoredClock& clock);

}  // namespace clockassay
