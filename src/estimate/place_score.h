// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <vector>

namespace clockassay {

/// What an edge off a line says of the line's place, in whole numbers of
/// 1/kScoreUnits, so that sums do not depend on their order.
struct EdgeScore {
  std::int64_t score = 0;  ///< derivative of ln L by the place, times sigma
  std::int64_t information = 0;  ///< its variance: 1 of an edge seen exactly
};
inline constexpr std::int64_t kScoreUnits = 1024;

/// The score of edges with normal jitter.
/// Source: docs/measurement-model.md#jitter-that-neighbours-share
class PlaceScore {
 public:
  /// Of edges seen exactly, off their line by `rms` [ticks].
  static PlaceScore of_exact(double rms);
  /// Of edges seen within a window, whose upper end is what the offset is to.
  /// In: window, sigma > 0 [ticks]
  static PlaceScore of_windows(double window, double sigma);

  /// In: offset  of an edge, or its window's upper end, from its line
  EdgeScore operator()(double offset) const;

 private:
  PlaceScore() = default;
  double window_ = 0.0;   ///< [sigma]; 0: edges are seen exactly
  double inside_ = 0.0;   ///< how far inside a window's end edges say anything
  double inverse_ = 0.0;  ///< 1/sigma [1/ticks]
  std::vector<std::int64_t> score_;  ///< from so far inside an end to beyond it
  std::vector<std::int64_t> information_;  ///< by the line's distance from one
};

}  // namespace clockassay
