// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "clockassay/base/rational.h"
#include "clockassay/verdict/verdict.h"

namespace clockassay {

/// Where a sampler shows a frequency.
/// Model:  sample n meets the clock at phase n F/fs, of which only the fraction
///         shows: F and |F - k fs| give the same levels, k the nearest whole
struct Alias {
  Rational frequency_hz;   ///< |F - k fs|
  std::int64_t folds = 0;  ///< k; 0: below half the sample rate, as it is
};

/// Absent where the numbers leave the range of Rational.
std::optional<Alias> alias_of(const Rational& frequency_hz,
                              const Rational& sample_rate_hz);

/// A frequency above half the sample rate that would look like what was
/// measured.
struct AliasCandidate {
  std::string who;  ///< "the expected clock", "the clock from crystal B"
  Rational true_hz;
  Alias alias;
  Rational ratio;             ///< alias over intended
  bool is_expected = false;   ///< nothing but the sample rate is wrong
  double residual_ppm = 0.0;  ///< measured against the alias, of the alias
  double allowed_ppm = 0.0;   ///< source, timebase and capture together
  Rational sample_rate_hz;
  /// Where it and the expected clock would be told apart, and where it would
  /// then be seen; absent: none of the usual rates does.
  std::optional<Rational> second_rate_hz;
  std::optional<Rational> seen_then_hz;
};

/// The expected clock, every suspect on its path and straight at the pin, and
/// every neighbour of the path, held against the measured frequency.
/// Model:  with the timebase offset applied, a clock seen at f is one at
///         k fs ± f. It is F if that is off F by no more than the tolerance of
///         its source, the timebase's of k fs ± f, and U of the capture alone.
/// Out:    empty also where the sample rate is not known
/// Source: docs/verdict.md#aliasing
std::vector<AliasCandidate> find_aliases(const ClockSpec& clock,
                                         const std::vector<Suspect>& suspects,
                                         const ClockEvidence& evidence);

/// Sample rates instruments offer, from one to another: 1, 1.2, 1.25, 1.6 …
/// 9.6 times a power of ten, ascending. Common practice, no source.
std::vector<Rational> usual_sample_rates(double from_hz, double to_hz);

/// A usual sample rate, the nearest to `near_hz` but not that, at which the
/// expected clock has four samples a period or more and no suspect or path
/// neighbour looks like it, nor, if there is such a rate, like another suspect.
std::optional<Rational> telling_rate(const ClockSpec& clock,
                                     const std::vector<Suspect>& suspects,
                                     const Rational& near_hz);

/// "92 MHz is seen at 8 MHz, 1 x 100 MHz away"; no period.
std::string alias_words(const Rational& true_hz, const Alias& alias,
                        const Rational& sample_rate_hz);

Warning alias_warning(const AliasCandidate& candidate);
Cause alias_cause(const AliasCandidate& candidate, Hertz measured);

}  // namespace clockassay
