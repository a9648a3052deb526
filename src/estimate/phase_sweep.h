// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <functional>
#include <span>
#include <vector>

#include "clockassay/base/parallel.h"
#include "estimate/phase_terms.h"

namespace clockassay {

/// A phase series of any length, of which any part can be read, by several
/// threads at once; NaN: missing.
struct PhaseSource {
  std::int64_t count = 0;
  std::function<void(std::int64_t at, std::span<double> out)> read;
};

/// How much is held at once; all powers of two.
struct SweepLimits {
  /// Most cells [1]. Chosen: 32 MB in four lists; the terms that are left out
  /// leave at least half as many, so that they cost less than 0.2 % of a
  /// deviation.
  std::int64_t most_held = std::int64_t{1} << 20;
  /// Cells that a tau is long, at least, where they are of several cycles.
  /// Chosen: terms that begin everywhere say little more then.
  std::int64_t fewest_steps = 32;
  /// Phases of a part [1]. Chosen: 256 kB.
  std::int64_t fewest_in_part = std::int64_t{1} << 15;
};

/// One averaging factor m, in cells of `decimation` cycles, which divides it.
struct PlannedTau {
  std::int64_t m;
  std::int64_t decimation;
  friend bool operator==(const PlannedTau&, const PlannedTau&) = default;
};

/// How a long series is gone through: short tau part by part, each part with
/// what comes after it as far as its terms need it; long tau on the series held
/// as a whole in cells.
struct SweepPlan {
  std::vector<PlannedTau> taus;  ///< m increases
  std::size_t in_parts = 0;      ///< the first so many are done part by part
  std::int64_t held_step = 1;    ///< cycles of a cell that is held
  std::int64_t part = 1;         ///< cycles of a part
  std::int64_t overlap = 0;      ///< cycles read after it
};

/// In: factors from 1 to most_m. Those that are done on cells of several cycles
///     are rounded to whole cells; equal ones become one.
SweepPlan plan_sweep(std::int64_t count, std::vector<std::int64_t> factors,
                     std::int64_t most_m, const SweepLimits& limits = {});

struct PhaseSweep {
  std::vector<DeviationTerms> terms;  ///< for each tau of the plan
  std::vector<double> held;           ///< first phases of the cells held
};

/// The same bits for any threads.
PhaseSweep sweep_phases(const PhaseSource& source, const SweepPlan& plan,
                        const ParallelFor& parallel_for);

}  // namespace clockassay
