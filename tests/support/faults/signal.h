// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <functional>
#include <limits>
#include <string>
#include <vector>

#include "support/faults/draw.h"

namespace clockassay::faults {

/// What drives a pin.
struct Signal {
  double frequency_hz = 0.0;  ///< mean; 0: the pin is constant
  double duty = 0.5;
  double jitter_s = 0.0;      ///< rms, white, of every edge for itself
  double period_noise = 0.0;  ///< of every period for itself, relative rms
  /// Frequency at a time over the mean, less 1. Empty: steady.
  std::function<double(double)> course = {};
  /// Lengths of periods in turn, over the mean. Empty: all alike.
  std::vector<double> lengths = {};
  /// Whether the pulse of that period comes out. Empty: all do.
  std::function<bool(std::int64_t)> passes = {};
  double stops_at_s = std::numeric_limits<double>::infinity();
};

/// Changes of level; `high` is the level before the first.
struct Changes {
  bool high = false;
  std::vector<double> at_s;
};

/// From time 0 to `duration_s`, beginning anywhere in a period.
Changes changes_of(const Signal& signal, double duration_s, Draw& draw);

/// One channel by sample numbers.
struct SampledChannel {
  std::string name;
  bool high = false;  ///< level of sample 0
  std::vector<std::int64_t>
      change;  ///< samples that differ from the one before
};

/// What a sampler of that rate sees: sample k is the level at k / rate. Two
/// changes between two samples are none.
SampledChannel sampled(const Changes& changes, double rate_hz,
                       std::int64_t last_sample);

/// Samples [from, to) are lost and the others close up behind them.
void lose_samples(SampledChannel& channel, std::int64_t from, std::int64_t to);
/// Samples [from, to) show the level before them.
void hold_samples(SampledChannel& channel, std::int64_t from, std::int64_t to);
/// A pulse of `samples` samples, the other way round, where the level is
/// steady about it.
void add_glitch(SampledChannel& channel, std::int64_t at, std::int64_t samples);
/// Pulse number `pulse` does not show, the falling edge with the rising one.
void miss_pulse(SampledChannel& channel, std::size_t pulse);
/// Only rises are left, each shown as a change.
void keep_rises(SampledChannel& channel);

/// How samples are written down.
struct Writing {
  bool csv = false;
  double rate_hz = 0.0;  ///< as the file has it, whatever it really was
  bool states_rate = true;
  std::int64_t last_sample = 0;
};

std::string written(const std::vector<SampledChannel>& channels,
                    const Writing& writing);

}  // namespace clockassay::faults
