// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "clockassay/analysis/analyse.h"
#include "clockassay/base/number_text.h"
#include "clockassay/edges/edge_store.h"
#include "clockassay/estimate/clock_estimate.h"

namespace clockassay {

struct ReferenceChannel;

/// What every channel of one capture shares.
struct Setting {
  const Capture& capture;
  const AnalysisOptions& options;
  TickScale scale;
  Ticks from;
  Ticks to;
  SampleIntervalSource source;  ///< how the sampling interval is known
  Ticks origin;                 ///< the capture's first stamp
  /// What other channels are measured against; else the timebase.
  const ReferenceChannel* reference = nullptr;
  std::optional<NominalClock> nominal = {};  ///< of the channel looked at
  bool is_reference = false;  ///< that channel is what others stand against
};

/// Time of a tick since the capture's first stamp.
inline Seconds since_first_stamp(const Setting& s, Ticks t) {
  return Seconds(static_cast<double>((t - s.origin).count()) *
                 s.scale.tick_s.to_double());
}

/// Seconds, to nine digits.
inline std::string seconds_text(double value) {
  return number_text(value, 9) + " s";
}

/// One stretch, and what its estimate says.
struct AnalysedStretch {
  StretchRecord record;
  const Stretch* stretch = nullptr;  ///< that it is part of
  std::optional<ClockEstimate> estimate;
  std::string trouble;          ///< why there is no estimate
  std::vector<Repair> repairs;  ///< in what is analysed of it,
  Ticks first;                  ///< whose ends are these
  Ticks last;
  Seconds run_to;  ///< last edge, be it after the last one of a reference
  std::int64_t uneven_cycles = 0;  ///< of the whole stretch
  StretchBreak why = StretchBreak::kStart;
};

}  // namespace clockassay
