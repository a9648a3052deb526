// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/frame_block.h"

namespace clockassay {

void FrameBlock::read(const EdgeView& view, std::size_t i,
                      const EdgeFrame& frame) {
  steady_ = read_steady(view, i, frame);
  if (steady_) return;
  view.read_block(i, edges_);
  frame_ = frame;
}

bool FrameBlock::read_steady(const EdgeView& view, std::size_t i,
                             const EdgeFrame& frame) {
  const auto whole = view.whole_block(i);
  if (!whole) return false;
  if (!decode_residuals(*whole->cycles, frame.period, residuals_)) return false;
  const std::int64_t k0 = frame.k(whole->first_cycle, 0);
  const std::int64_t y0 =
      frame.y(whole->first_cycle, whole->cycles->first, 0, 0);
  const std::span<const std::int32_t> rise(residuals_.rise.data(),
                                           residuals_.count);
  const std::span<const std::int32_t> fall(residuals_.fall.data(),
                                           residuals_.count);
  const SteadyEdges rises{k0, y0, rise};
  const SteadyEdges falls{k0, y0 + residuals_.high, fall};
  steady_rise_ = whole->rising == Polarity::kRising ? rises : falls;
  steady_fall_ = whole->has_falls ? falls : SteadyEdges{k0, y0, {}};
  return true;
}

}  // namespace clockassay
