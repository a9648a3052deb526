// SPDX-License-Identifier: GPL-3.0-or-later
#include "verdict/life_stack.h"

#include "verdict/wording.h"

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

std::string celsius_text(double celsius) {
  return number_text(celsius, 4) + " degC";
}

// From where it is now, which at another temperature may be anywhere in it.
LifeShare temperature_share(const SourceTolerance& tolerance) {
  LifeShare share = share_of("temperature", tolerance.temperature);
  if (!share.band) return share;
  share.why += ", relative to " + celsius_text(kBandCelsius);
  if (!tolerance.captured_at_c) {
    share.why +=
        "; captured_at is not stated, and the capture taken to be at "
        "about that";
    return share;
  }
  share.why +=
      "; captured at " + celsius_text(tolerance.captured_at_c->to_double());
  if (!is_far_from_band_zero(tolerance)) return share;
  const LifeBand moves = temperature_moves(tolerance);
  share.why += ": all the width of " +
               band_text(share.band->low.value(), share.band->high.value()) +
               ", either way";
  share.band = PpmBand{Ppm(moves.low), Ppm(moves.high)};
  return share;
}

}  // namespace

std::vector<std::string> life_caveats(const SourceTolerance& tolerance) {
  if (!life_band(tolerance)) {
    return {
        "Over life it is not judged: the tolerance states neither "
        "temperature nor ageing."};
  }
  std::vector<std::string> caveats;
  if (!tolerance.ageing) {
    caveats.emplace_back(
        "Ageing is not stated: what is said over life counts none, and holds "
        "as long as there is none.");
  }
  if (!tolerance.temperature) {
    caveats.emplace_back(
        "Temperature is not stated: what is said over life counts none, and "
        "holds at the temperature of the capture.");
  }
  if (tolerance.temperature && is_far_from_band_zero(tolerance)) {
    const LifeBand moves = temperature_moves(tolerance);
    caveats.push_back(
        "Captured at " + celsius_text(tolerance.captured_at_c->to_double()) +
        ": the band over temperature is relative to " +
        celsius_text(kBandCelsius) +
        ", and where in it the clock is now is not known, so that it may move "
        "by " +
        band_text(moves.low, moves.high) + ".");
  }
  return caveats;
}

std::optional<LifeStack> life_stack(const SourceTolerance& tolerance,
                                    const MeasuredError& error) {
  const std::optional<LifeBand> band = life_band(tolerance);
  if (!band || !is_usable(error)) return std::nullopt;
  LifeStack stack;
  stack.error = Ppm(error.ppm);
  stack.expanded_uncertainty = Ppm(error.expanded_ppm);
  stack.shares = {make_share(tolerance.make), temperature_share(tolerance),
                  share_of("ageing", tolerance.ageing)};
  stack.combine = tolerance.combine;
  stack.moves = {Ppm(band->low), Ppm(band->high)};
  stack.altogether = {Ppm(error.ppm - error.expanded_ppm + band->low),
                      Ppm(error.ppm + error.expanded_ppm + band->high)};
  return stack;
}

}  // namespace clockassay
