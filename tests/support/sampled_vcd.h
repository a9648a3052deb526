// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <functional>
#include <random>
#include <string>

namespace clockassay::test {

/// A clock whose frequency is any function of time [Hz]; 0: it stands still.
struct ChangingClock {
  std::function<double(double)> frequency;
  double duration_s = 0.0;
  double jitter_samples = 0.0;  ///< rms of each edge
};

/// What a sampler at 100 MHz sees of it, as a VCD of 1 ns ticks that states
/// its rate: edge n is the first sample at or after the edge.
inline std::string sampled_vcd(const ChangingClock& clock,
                               std::mt19937_64& random) {
  constexpr double kRate = 100e6;
  constexpr std::int64_t kTicks = 10;  // of a sample
  constexpr double kStandstill = 1e-6;
  std::normal_distribution<double> normal;
  std::uniform_real_distribution<double> uniform;
  std::string text =
      "$timescale 1 ns $end\n$comment sample rate: 100 MHz $end\n"
      "$var wire 1 ! clk $end\n$enddefinitions $end\n#0\n0!\n";
  const auto last = std::llround(clock.duration_s * kRate);
  std::int64_t stamp = 0;
  bool high = false;
  double t = (1.0 + uniform(random)) / kRate;
  while (t < clock.duration_s) {
    const double f = clock.frequency(t);
    if (f <= 0.0) {
      t += kStandstill;
      continue;
    }
    const double seen = t * kRate + clock.jitter_samples * normal(random);
    stamp = std::max(stamp + 1, static_cast<std::int64_t>(std::ceil(seen)));
    if (stamp >= last) break;
    high = !high;
    text += "#" + std::to_string(kTicks * stamp) + (high ? "\n1!\n" : "\n0!\n");
    t += 0.5 / f;
  }
  return text + "#" + std::to_string(kTicks * last) + "\n";
}

}  // namespace clockassay::test
