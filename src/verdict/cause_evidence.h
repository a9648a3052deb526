// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "clockassay/verdict/verdict.h"

namespace clockassay {

bool has_warning(const ClockEvidence& evidence, WarningCode code);

/// Another output of the clock's source is off by another ratio, and beyond a
/// slip of small numbers by no more than a load may move a crystal. What is
/// wrong with one crystal takes all of its outputs off alike.
bool is_slightly_apart(const OtherClock& other);

/// Whether the source may be what takes this clock off slightly: no output is
/// slightly apart, or more of them are off by the clock's own ratio, with it.
bool may_be_one_source(const ClockEvidence& evidence);

/// Whether more outputs of the source are slightly apart from the clock than
/// are off by its own ratio, with it.
bool is_outvoted_slightly(const ClockEvidence& evidence);

/// What evidence is held against.
struct CauseFacts {
  CauseCode code = CauseCode::kOtherSource;
  /// The source that runs then: above it is none with a crystal. Half-width.
  double source_ppm = 0.0;
  /// As Hypothesis: absent for what lies before the path or in the capture.
  std::optional<std::size_t> factor;
  bool from_suspect = false;  ///< somebody named its source
};

/// What the rest of the capture says of a cause.
struct CauseEvidence {
  double factor = 1.0;  ///< how much likelier it makes the cause, or less
  std::vector<std::string> sentences;
};

/// The oscillator's character, spread spectrum, duty, a reference and the other
/// clocks of the capture, each held against the cause. What warnings give
/// reason to name (damage_causes()) is not weighed.
/// Source: docs/verdict.md#evidence
CauseEvidence weigh_evidence(const CauseFacts& cause,
                             const ClockEvidence& evidence);

/// What else should be seen if it is true, as a sentence.
std::string seen_if_true(CauseCode code);

/// Writes that into each of them: the one place where it is done.
void say_what_is_seen(std::vector<Cause>& causes);

}  // namespace clockassay
