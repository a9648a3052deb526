// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <string>

#include "clockassay/base/rational.h"

namespace clockassay {

/// How the sampling interval became known.
enum class SampleIntervalSource {
  kOption,    ///< stated by the user
  kHeader,    ///< stated in the file
  kRows,      ///< the file has one row per sample
  kInferred,  ///< greatest common divisor of all intervals: an upper bound
  kUnknown,   ///< not visible in the file
};

/// The name reports print, such as "header".
const char* sample_interval_source_name(SampleIntervalSource source);

/// What the stamps of a capture mean, apart from how true the instrument's
/// clock runs. Two quanta are kept apart: the sampler saw the true edge within
/// one sample interval before the sample, and the text rounded that.
struct TimeGrid {
  Rational tick_s = Rational(1);  ///< seconds per tick, exact
  std::int64_t text_resolution_ticks =
      1;  ///< coarsest step stamps were written in
  /// Where stamps are printed from floating point numbers: the step in
  /// which these move.
  std::optional<std::int64_t> float_ticks;
  std::optional<Rational> sample_interval_s;  ///< by option, header or rows
  SampleIntervalSource source = SampleIntervalSource::kUnknown;
  /// What the source is in words, such as "stated in line 3"; empty where the
  /// source says it all.
  std::string source_reason;
};

}  // namespace clockassay
