// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "clockassay/analysis/record.h"
#include "clockassay/base/parallel.h"
#include "clockassay/base/result.h"
#include "clockassay/capture/capture.h"
#include "clockassay/verdict/specification.h"

namespace clockassay {

struct AnalysisOptions {
  Timebase timebase;
  double coverage = 0.95;
  std::optional<Rational> from_s;  ///< start, since the first stamp
  std::optional<Rational> span_s;  ///< length of the stretch to analyse
};

/// Why the stretch that is asked for cannot be analysed: it begins where the
/// capture ends, or later. nullopt: some of it lies within.
std::optional<Error> refuse_stretch(const Capture& capture,
                                    const AnalysisOptions& options);

/// Runs edges, estimate and uncertainty over every channel of a capture.
CaptureResult analyse_capture(const Capture& capture, std::string path,
                              const AnalysisOptions& options,
                              const ParallelFor& parallel_for);

/// Judges each clock of the specification in one analysed capture. A clock's
/// channel is one that was asked for by that name, or has just that name.
/// Constant or missing: fail. Edges, but none that make a clock, or a voltage
/// that never passes the threshold: undecided.
/// Errors: kUsage when a clock names no channel and several carry a clock.
Result<std::vector<Verdict>> judge_capture(const Specification& specification,
                                           const CaptureResult& capture,
                                           const Timebase& timebase);

}  // namespace clockassay
