// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <span>

namespace clockassay {

/// Offsets that can be summed so are smaller than this [ticks]: then the
/// squares of a block's sum up to less than 2^60.
inline constexpr std::int32_t kNarrowResidual = std::int32_t{1} << 24;

/// Exact sums over the points (i, y[i]).
struct OffsetSums {
  std::int64_t y = 0;
  std::int64_t iy = 0;
  std::int64_t yy = 0;
  std::int32_t low = 0;  ///< smallest and largest y
  std::int32_t high = 0;
  friend bool operator==(const OffsetSums&, const OffsetSums&) = default;
};
/// In: one offset or more, at most kMaxBlockCycles, each below kNarrowResidual
OffsetSums sum_offsets(std::span<const std::int32_t> y);

/// Exact sums over the steps y[i + 1] - y[i], and over pairs: differences of
/// neighbouring steps.
struct StepSums {
  std::int64_t squares = 0;
  std::int64_t pair_squares = 0;
  std::int64_t pair_peak = 0;  ///< largest magnitude
  std::int32_t low = 0;        ///< smallest and largest step
  std::int32_t high = 0;
  friend bool operator==(const StepSums&, const StepSums&) = default;
};
/// All 0 of a single offset. In: as above.
StepSums sum_steps(std::span<const std::int32_t> y);

}  // namespace clockassay
