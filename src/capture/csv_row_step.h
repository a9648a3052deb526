// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>

#include "clockassay/base/rational.h"

namespace clockassay {

/// Steps between rows that are samples.
class CsvRowStep {
 public:
  /// `interval`: of the sampling [ticks], above 0. `slack`: an interval between
  /// two stamps is that of their samples to less than this [ticks]; 0: exactly.
  CsvRowStep(const Rational& interval, std::int64_t slack);

  /// The same for steps of the text as long as the interval: rounding alone may
  /// then make a step two of them long, which is no missing sample. An edge
  /// between is known to the interval and a step of the text all the same.
  CsvRowStep rounded() const {
    CsvRowStep step = *this;
    step.most_ = 2 * most_;
    return step;
  }

  const Rational& interval() const { return interval_; }
  std::int64_t slack() const { return slack_; }
  /// Which steps are one sample [ticks], the ends included.
  std::int64_t least_of_one() const { return least_; }
  std::int64_t most_of_one() const { return most_; }
  /// How many samples a step of `ticks` is; nullopt when it is no whole number
  /// of them, or none.
  std::optional<std::int64_t> samples(std::int64_t ticks) const {
    if (ticks >= least_ && ticks <= most_) return 1;
    return several(ticks);
  }

 private:
  std::optional<std::int64_t> several(std::int64_t ticks) const;

  Rational interval_;
  std::int64_t slack_;
  std::int64_t least_;  // of one sample
  std::int64_t most_;
};

/// What steps say about the sampling interval.
struct RowStepFit {
  CsvRowStep step;
  std::int64_t gaps = 0;  ///< steps of several samples
  /// The interval lies strictly between these [ticks]; equal: it is exact.
  Rational low = Rational(0);
  Rational high = Rational(0);
};

/// Whether `times`, at least three, are samples at a constant interval but for
/// gaps of whole intervals: most steps are one interval. Stamps are written in
/// steps of `resolution` [ticks], so that the interval may be no whole number
/// of them: then it is the roundest that all times allow, in seconds or in
/// hertz, `tick_s` being seconds per tick. nullopt when they are not.
std::optional<RowStepFit> fit_row_step(std::span<const std::int64_t> times,
                                       std::int64_t resolution,
                                       const Rational& tick_s);

}  // namespace clockassay
