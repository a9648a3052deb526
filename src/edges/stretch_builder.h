// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <functional>
#include <vector>

#include "clockassay/edges/edge_store.h"

namespace clockassay {

/// Gathers numbered edges into stretches and keeps the account of repairs.
class StretchBuilder {
 public:
  explicit StretchBuilder(bool rising_only) : rising_only_(rising_only) {}

  bool is_open() const { return open_; }
  void open();
  /// Ends the stretch, if one is open; one of fewer than two rising edges
  /// leaves its edges unnumbered. `next` says what came between it and the
  /// next one.
  void close(StretchBreak next);

  /// A packed block whose first rising edge is cycle `first`; even: its periods
  /// are near the running one.
  void add_packed(const CycleBlock& block, std::int64_t first, bool even);
  /// Edges numbered one by one, cycles absolute, ticks after `base`, in order;
  /// and the ticks of those left out.
  void add_explicit(ExplicitEdges edges,
                    const std::vector<std::int64_t>& left_out, Ticks base);
  /// `last`: the instant of the last of them.
  void add_unnumbered(std::int64_t edges, Ticks last);

  /// Extra edges before the first stretch's first edge or after the last one's
  /// last are no clock's: they become unnumbered.
  EdgeStore finish();

 private:
  void give_up();
  void take_off(Stretch& stretch, const std::function<bool(Ticks)>& beyond);
  void note_missing(std::int64_t upto_cycle, Ticks time);

  bool rising_only_;
  EdgeStore store_;
  StretchBreak break_ = StretchBreak::kStart;  // before the next stretch
  bool open_ = false;
  Stretch stretch_;
  bool has_rise_ = false;             // a rising edge is in the stretch,
  std::int64_t last_rise_cycle_ = 0;  // this one is the last
};

}  // namespace clockassay
