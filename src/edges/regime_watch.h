// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <deque>
#include <optional>
#include <vector>

namespace clockassay {

/// What the regime that edges are compared with looks like, in ticks.
struct RegimeNow {
  double period;
  double scatter;  ///< rms of edges about their line
  double window;   ///< of one edge
};

/// Watches the rising edges of one block for another regime: gaps that agree
/// among themselves but not with the period, or edges that fit no cycle.
/// Source: docs/measurement-model.md#numbering-and-repairs
class RegimeWatch {
 public:
  /// A change was left out; `index` counts the block's changes.
  void left_out(std::size_t index);
  /// A change was given a number: edges fit again.
  void fits();
  /// A rising edge, left out or not; after one of the above.
  void rise(std::int64_t tick, std::size_t index, bool left_out);
  void clear();

  /// Index of the change where another regime begins, if the last edges show
  /// one.
  std::optional<std::size_t> change(const RegimeNow& now) const;

 private:
  struct Rise {
    std::int64_t tick;
    std::size_t index;
    bool left_out;
  };
  std::vector<double> last_gaps(std::size_t n) const;
  std::optional<std::size_t> near_gaps(const RegimeNow& now) const;
  std::optional<std::size_t> equal_gaps(const RegimeNow& now) const;
  bool other_gaps(const RegimeNow& now) const;

  std::deque<Rise> rises_;            // the last ones, fitting or not
  std::vector<double> odd_gaps_;      // between rises since the last that fits
  std::optional<std::int64_t> odd_;   // the last of these rises
  std::optional<std::size_t> first_;  // change left out since then
};

}  // namespace clockassay
