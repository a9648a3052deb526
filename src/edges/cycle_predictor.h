// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cmath>
#include <cstdint>
#include <optional>
#include <span>

#include "clockassay/base/units.h"

namespace clockassay {

/// Says which cycle an edge belongs to, from the edges before it: a line
/// through the preceding rising edges, fitted recursively over a fading
/// memory, and a high time for the falling ones.
class CyclePredictor {
 public:
  /// Starts from a line: rising edge `cycle` at `tick`, period and high time
  /// [ticks], rms scatter of edges about it [ticks], and how many edges it
  /// rests on.
  CyclePredictor(std::int64_t cycle, Ticks tick, double period, double high,
                 double scatter, int memory);

  double period() const { return period_; }
  double high() const { return high_; }
  double scatter() const { return std::sqrt(variance_); }

  /// Nearest cycle to a rising or falling edge, and how far off it is.
  struct Match {
    std::int64_t cycle;
    double error;  ///< observed - predicted [ticks]
  };
  Match match(bool rising, Ticks tick) const;

  /// Half-width within which an edge belongs to its cycle [ticks].
  double tolerance(double window) const;

  /// Takes an edge as belonging to `m.cycle` into the line.
  void accept(bool rising, Ticks tick, const Match& m);

 private:
  std::int64_t cycle_;   ///< the reference rising edge,
  Ticks tick_;           ///< its observed instant,
  double offset_ = 0.0;  ///< and the line there minus tick_
  double period_;
  double high_;
  double variance_;  ///< of errors [ticks^2]
  int memory_;
};

/// A predictor for edges that begin with no history: from the first stretch of
/// rising edges whose gaps agree. nullopt when there is none.
/// In: rise, fall  ticks after `base`, increasing; window as NumberingOptions
struct Bootstrap {
  std::size_t anchor;  ///< index into rise of the predictor's cycle 0
  CyclePredictor predictor;
};
std::optional<Bootstrap> bootstrap_predictor(std::span<const std::int64_t> rise,
                                             std::span<const std::int64_t> fall,
                                             Ticks base, double window);

}  // namespace clockassay
