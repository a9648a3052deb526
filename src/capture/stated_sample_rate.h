// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <string_view>

#include "clockassay/base/rational.h"
#include "clockassay/base/result.h"

namespace clockassay {

/// The sample rate a comment of a capture states, in Hz, as in
///   sample rate: 24 MHz     Sample_Rate = 24MHz     samplerate: 24 MS/s
/// The words may stand anywhere in the comment; the quantity runs to the end
/// of its line or to a comma or semicolon. A bare number is in Hz; samples per
/// second are written S/s, Sa/s or sps. nullopt when the comment speaks of no
/// sample rate.
/// Errors: kBadData when it does but the quantity cannot be read, since going
///         on would drop what the file knows; the caller adds the place.
Result<std::optional<Rational>> stated_sample_rate(std::string_view comment);

}  // namespace clockassay
