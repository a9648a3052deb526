// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "clockassay/analysis/record.h"
#include "clockassay/base/parallel.h"
#include "clockassay/base/result.h"
#include "clockassay/capture/capture.h"
#include "clockassay/drift/temperature_log.h"
#include "clockassay/estimate/stability.h"
#include "clockassay/verdict/source_group.h"
#include "clockassay/verdict/specification.h"

namespace clockassay {

/// A channel that is allowed to settle before it is judged.
struct SettlingAsked {
  std::optional<std::string> channel;  ///< absent: whichever carries a clock
  Rational within_s;                   ///< since the first stamp
};

/// What a channel's clock is expected to be.
struct FrequencyExpected {
  std::optional<std::string> channel;  ///< absent: whichever carries a clock
  Rational frequency_hz;
  /// What its source is allowed. Of a clock that does not pass it by its
  /// figures, what it behaves like is worked out, too. Absent: of none.
  std::optional<ToleranceBand> make = {};
};

struct AnalysisOptions {
  Timebase timebase;
  double coverage = 0.95;
  std::optional<Rational> from_s;  ///< start, since the first stamp
  std::optional<Rational> span_s;  ///< length of the stretch to analyse
  /// A channel's stretches are parted at that time, whatever --from says, and
  /// what changed before it is not warned of. Of several for one channel the
  /// latest counts; judge_capture refuses the others.
  std::vector<SettlingAsked> settling = {};
  /// The time-interval error is told against that, too. Where several are
  /// expected of one channel that differ, against none.
  std::vector<FrequencyExpected> expected = {};
  /// What the instrument's input adds to every edge.
  std::optional<Seconds> input_jitter_rms = {};
  /// By how much the instrument may move rising against falling edges.
  std::optional<Seconds> edge_skew;
  /// Given: frequency stability is worked out, too.
  std::optional<StabilityOptions> stability = {};
  bool spectrum = false;  ///< of the time-interval error, too
  bool pictures = false;  ///< what charts show of each channel, too
};

/// Why the stretch that is asked for cannot be analysed: it begins where the
/// capture ends, or later. nullopt: some of it lies within.
std::optional<Error> refuse_stretch(const Capture& capture,
                                    const AnalysisOptions& options);

/// Channels with edges that are analysed at once. Chosen: each takes some 25
/// kB, and nobody reads more.
inline constexpr std::size_t kMostChannels = 4096;

/// Why all channels of a capture cannot be analysed: too many have edges.
std::optional<Error> refuse_many(const Capture& capture);

/// Runs edges, estimate and uncertainty over every channel of a capture.
CaptureResult analyse_capture(const Capture& capture, std::string path,
                              const AnalysisOptions& options,
                              const ParallelFor& parallel_for);

/// The same, every other channel measured against a reference among them, over
/// the time in which both run. `options.timebase` is then only what the
/// reference is checked with.
/// Errors: kUsage when several channels bear that name; kBadData when none
///         does, or it carries no clock, not throughout, or one that is more
///         than 10 % off
/// Source: docs/measurement-model.md#reference-channel
Result<CaptureResult> analyse_against(const ReferenceClock& reference,
                                      const Capture& capture, std::string path,
                                      const AnalysisOptions& options,
                                      const ParallelFor& parallel_for);

/// One channel in windows of a capture; absent: no clock there.
struct WindowedChannel {
  std::string name;
  std::int64_t edges = 0;
  bool level_known = true;  ///< throughout
  std::vector<std::optional<ChannelResult>> windows;
};

struct WindowedCapture {
  CaptureResult capture;                  ///< without channels
  std::vector<WindowedChannel> channels;  ///< but a reference
};

/// The same for windows of one capture, each by itself; `stated` absent: by the
/// timebase.
/// Errors: as analyse_against()
Result<WindowedCapture> analyse_windows(
    const std::optional<ReferenceClock>& stated, const Capture& capture,
    std::string path, const AnalysisOptions& options,
    std::span<const TimeWindow> windows, const ParallelFor& parallel_for);

/// What frequencies the clocks of a specification are expected to have.
std::vector<FrequencyExpected> expected_of(const Specification& specification);

/// Judges each clock of the specification in one analysed capture. A clock's
/// channel is one that was asked for by that name, or has just that name.
/// Constant or missing: fail. Edges, but none that make a clock, or a voltage
/// that never passes the threshold: undecided. With settle_within, nothing
/// after that time: undecided. A reference is no clock to judge.
/// Errors: kUsage when a clock names no channel and several carry a clock, or
///         when it names the reference;
///         kBadSpec when clocks of one channel do not state one settling time.
Result<std::vector<Verdict>> judge_capture(const Specification& specification,
                                           const CaptureResult& capture,
                                           const Timebase& timebase);

/// The clocks of the specification that one source is expected to give, held
/// against each other in one analysed capture.
std::vector<SourceGroup> compare_outputs(const Specification& specification,
                                         const CaptureResult& capture);

}  // namespace clockassay
