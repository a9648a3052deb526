// SPDX-License-Identifier: GPL-3.0-or-later
#include "verdict/life_stack.h"

namespace clockassay {
namespace {

LifeShare share_of(const char* name, const std::optional<ToleranceBand>& band) {
  LifeShare share;
  share.name = name;
  share.why = "not stated, and so not counted";
  if (!band) return share;
  share.band =
      PpmBand{Ppm(band->low_ppm.to_double()), Ppm(band->high_ppm.to_double())};
  share.counted = true;
  share.why = "specification";
  return share;
}

// This board's own error takes the place of what the parts may be off by.
LifeShare make_share(const ToleranceBand& make) {
  LifeShare share = share_of("make tolerance", make);
  share.counted = false;
  share.why = "not added: what this board is off by is measured";
  return share;
}

}  // namespace

std::optional<LifeStack> life_stack(const SourceTolerance& tolerance,
                                    const MeasuredError& error) {
  const std::optional<LifeBand> band = life_band(tolerance);
  if (!band || !is_usable(error)) return std::nullopt;
  LifeStack stack;
  stack.error = Ppm(error.ppm);
  stack.expanded_uncertainty = Ppm(error.expanded_ppm);
  stack.shares = {make_share(tolerance.make),
                  share_of("temperature", tolerance.temperature),
                  share_of("ageing", tolerance.ageing)};
  stack.combine = tolerance.combine;
  stack.moves = {Ppm(band->low), Ppm(band->high)};
  stack.altogether = {Ppm(error.ppm - error.expanded_ppm + band->low),
                      Ppm(error.ppm + error.expanded_ppm + band->high)};
  return stack;
}

}  // namespace clockassay
