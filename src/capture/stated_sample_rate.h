// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <string_view>

#include "clockassay/base/rational.h"
#include "clockassay/base/result.h"

namespace clockassay {

/// The sample rate a comment of a capture states, in Hz, as in
///   sample rate: 24 MHz     Sample_Rate = 24MHz     samplerate: 24 MS/s
///   sampling frequency (kHz): 24000                 sample rate 24 MHz
///   sample interval: 40 ns  Sampling period [us] = 0.04
/// The words may stand anywhere in the comment; the quantity runs to the end
/// of its line or to a comma or semicolon, at most 64 bytes. A bare number is
/// in the unit in brackets behind the words, else in Hz or s; samples per
/// second are written S/s, Sa/s or sps. nullopt when the comment speaks of no
/// sample rate: also where neither a colon nor an equals sign, nor a quantity,
/// follows the words. Errors: kBadData when it does but the quantity cannot be
/// read, since going
///         on would drop what the file knows; the caller adds the place.
/// Cost: O(size of the comment), whatever it says.
Result<std::optional<Rational>> stated_sample_rate(std::string_view comment);

}  // namespace clockassay
