// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <span>

namespace clockassay {

/// Limits that single values of a steady process keep.
struct ControlLimits {
  double centre = 0.0;
  double low = 0.0;
  double high = 0.0;
  double sigma = 0.0;  ///< of a value, by the moving range
};

/// Individuals chart: the mean, and three sigma either way, sigma the mean
/// moving range of neighbours over d2 = 2/sqrt(pi). A value beyond is one in
/// 370 where nothing but normal scatter is.
/// In:     values in order of time
/// Out:    absent with fewer than three values
/// Source: docs/history.md#control-limits
std::optional<ControlLimits> control_limits(std::span<const double> values);

}  // namespace clockassay
