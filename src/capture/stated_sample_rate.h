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
/// A line must begin with the words, after comment marks, and the quantity must
/// run to its end: "max sample rate: 100 MHz" and "previous sample rate: 8 MHz"
/// speak of other rates. The first line that states a rate counts. A bare
/// number is in the unit in brackets behind the words, else in Hz from 1000 on,
/// or in seconds below 10 us; samples per second are written S/s, Sa/s or sps.
/// nullopt when the comment states no sample rate: also where neither a colon
/// nor an equals sign, nor a quantity alone, follows the words.
/// Errors: kBadData when a sign follows but not a quantity alone with its unit,
///         since going on would drop what the file knows; the caller adds the
///         place.
/// Cost: O(size of the comment), whatever it says.
Result<std::optional<Rational>> stated_sample_rate(std::string_view comment);

}  // namespace clockassay
