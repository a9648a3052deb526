// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "clockassay/base/units.h"
#include "clockassay/estimate/period_histogram.h"
#include "clockassay/estimate/stability.h"
#include "clockassay/estimate/tie_spectrum.h"

namespace clockassay {

/// Parts of a time-interval error that are shown at most. Chosen: more than a
/// screen has columns, so that a part of it can be looked at closely.
inline constexpr std::size_t kMostErrorParts = 4096;

/// The time-interval error over some time: from least to most.
struct ShownError {
  Seconds from;  ///< since the first stamp
  Seconds to;
  Seconds least;
  Seconds most;
};

/// What charts show of a channel, of the stretch that its frequency is of, in
/// the capture's own time but where a reference is said to serve.
struct ChannelPictures {
  std::vector<ShownError> errors;  ///< of rising edges about their line
  std::optional<PeriodHistogram> periods;
  Stability stability;
  std::optional<TieSpectrum> spectrum;
  std::string no_spectrum;  ///< why there is none then
};

}  // namespace clockassay
