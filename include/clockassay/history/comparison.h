// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "clockassay/base/quantity_text.h"
#include "clockassay/base/units.h"
#include "clockassay/uncertainty/difference_distribution.h"
#include "clockassay/verdict/verdict.h"

namespace clockassay {

/// A figure with its standard uncertainty.
struct Figure {
  double value = 0.0;
  double standard_uncertainty = 0.0;
};

/// One clock as one capture shows it.
struct ClockSeen {
  std::string channel;
  Hertz frequency;  ///< the instrument's offset, or a reference, applied
  Hertz indicated;  ///< by the instrument's own time
  bool by_reference = false;  ///< measured against a reference beside it
  Ppm u;                      ///< of the capture alone, k = 1, normal
  Ppm half_width;             ///< what the timebase leaves open, rectangular
  // U at the comparison's coverage: compare_clocks() works them out.
  Ppm expanded = {};        ///< with what the timebase leaves open
  Ppm expanded_alone = {};  ///< of the capture alone
  /// Rms of the periods; absent where sampling may have made most of it.
  std::optional<Seconds> period_jitter;
  /// Rms of an edge, sampling taken off; seconds.
  std::optional<Figure> edge_jitter;
  std::optional<Figure> duty;
  /// Why the figure is in doubt: a warning that forbids a pass; or empty.
  std::string doubt;
};

struct ComparisonOptions {
  /// One instrument took both: its rate moved by no more than this between
  /// them, either way. Absent: each has its own timebase. A clock measured
  /// against a reference, before or after, does not go by it.
  std::optional<Ppm> moves;
  double coverage = 0.95;
  std::optional<ToleranceBand> limit;  ///< for the shift
};

enum class Presence { kInBoth, kOnlyBefore, kOnlyAfter };

/// What became of one clock.
struct ClockShift {
  std::string channel;
  Presence presence = Presence::kInBoth;
  std::optional<ClockSeen> before;
  std::optional<ClockSeen> after;
  // The rest where it is in both.
  Ppm shift;                            ///< after over before, less one
  Ppm expanded;                         ///< U of the shift, at the coverage
  DifferenceDistribution distribution;  ///< of it, in ppm
  double chance = 1.0;  ///< of so large a shift where nothing moved
  /// At the coverage, for all clocks together (Holm): nothing moves by chance
  /// in more than 1 - coverage of comparisons, however many clocks.
  bool significant = false;
  std::optional<double> period_jitter_ratio;  ///< after over before
  std::optional<Figure> edge_jitter_change;   ///< seconds
  bool jitter_changed = false;                ///< of the edges, as above
  std::optional<Figure> duty_change;
  bool duty_changed = false;
  /// Where a limit is asked for; undecided where a figure is in doubt.
  std::optional<Decision> decision;
};

/// Holds the clocks of two captures against each other, by name of channel; a
/// name without its scopes does where nothing else ends alike.
/// Model:  shift = f_after/f_before - 1; normal parts add in squares. The
///         timebases, or references, add a rectangle each. By one instrument f
///         is what it indicated, whatever was stated of it each time, and the
///         rectangle is what it moved.
/// Out:    in the order of `before`, then what is new in `after`
/// Source: docs/history.md#the-shift
std::vector<ClockShift> compare_clocks(std::span<const ClockSeen> before,
                                       std::span<const ClockSeen> after,
                                       const ComparisonOptions& options);

/// Whether all of two and more clocks in both moved alike, as far as the
/// captures tell, and moved: it may be the instrument's time that did.
bool moved_alike(std::span<const ClockShift> shifts, double coverage);

}  // namespace clockassay
