// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "clockassay/base/units.h"
#include "clockassay/oscillator/crystal_load.h"

namespace clockassay {

/// From here on a crystal may be a third-overtone one. Chosen: parts of 27 MHz
/// that ran at 9 are reported (read), slower third overtones are rare.
inline constexpr Hertz kOvertonesFrom(25e6);

/// Crystals below are taken for tuning forks. Chosen: few crystals are made
/// about it.
inline constexpr Hertz kForksBelow(1e6);

/// What a crystal may be by what is published of it.
struct CrystalRange {
  MotionalCrystal middle;  ///< to reckon with; of a range its geometric middle
  /// Crystals on the border of the range. What rises or falls with C0 at every
  /// C1 has its extremes over the range on that border; between the points
  /// here it may exceed them by less than a hundredth of their distance.
  std::vector<MotionalCrystal> outline;
  /// What was assumed, each in words; empty: all is published.
  std::vector<std::string> assumed;
};

/// Published values are taken as exact. What is missing takes a typical range:
/// at 1 MHz and above that of a fundamental AT cut, C1 from 2 to 30 fF and
/// C0/C1 from 180 to 500; below that of a tuning fork, C1 from 1.35 to 8 fF
/// and C0 from 0.6 to 2 pF. With one of C0 and C1 published, an AT cut's other
/// follows from the ratio alone.
/// Source: docs/load.md#what-is-not-published
CrystalRange crystal_range(std::optional<Farads> c0, std::optional<Farads> c1,
                           Hertz source);

/// Whether there are crystals of that C0/C1: by the spans above from 75, of a
/// third overtone, whose C1 is a ninth, up to 4500.
bool is_usual_ratio(Farads c0, Farads c1);

}  // namespace clockassay
