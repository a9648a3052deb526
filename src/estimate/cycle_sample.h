// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>

#include "clockassay/edges/edge_store.h"
#include "clockassay/estimate/edge_sums.h"

namespace clockassay {

/// Some cycles of a long view, in runs spread evenly over it: for what does not
/// need every edge. The same cycles whatever the blocks.
class CycleSample {
 public:
  /// All cycles.
  CycleSample() = default;
  /// Of the cycles first … last from half as many to `most`, and a run or two,
  /// or all if there are no more.
  CycleSample(std::int64_t first, std::int64_t last, std::int64_t most);

  bool has_all() const { return step_ == 1; }
  std::size_t run_of(std::int64_t k) const {
    return static_cast<std::size_t>((k - first_) / kRun);
  }
  bool takes(std::size_t run) const { return run % step_ == 0; }
  /// Whether a block of the view may hold some of them.
  bool may_meet(const EdgeView& view, std::size_t block,
                const EdgeFrame& frame) const;

 private:
  static constexpr std::int64_t kRun = 4096;  ///< cycles: two blocks. Chosen
  std::int64_t first_ = 0;
  std::size_t step_ = 1;
};

}  // namespace clockassay
