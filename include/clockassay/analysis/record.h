// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "clockassay/analysis/channel_pictures.h"
#include "clockassay/analysis/drift_result.h"
#include "clockassay/analysis/instrument.h"
#include "clockassay/base/rational.h"
#include "clockassay/base/result.h"
#include "clockassay/base/units.h"
#include "clockassay/base/warning.h"
#include "clockassay/capture/understanding.h"
#include "clockassay/edges/edge_store.h"
#include "clockassay/estimate/frequency_estimate.h"
#include "clockassay/estimate/half_period.h"
#include "clockassay/estimate/oscillator_character.h"
#include "clockassay/estimate/period_histogram.h"
#include "clockassay/estimate/repair_spacing.h"
#include "clockassay/estimate/sampling_phase.h"
#include "clockassay/estimate/stability.h"
#include "clockassay/estimate/steady_periods.h"
#include "clockassay/estimate/tie_spectrum.h"
#include "clockassay/history/comparison.h"
#include "clockassay/history/stored_row.h"
#include "clockassay/history/trend.h"
#include "clockassay/uncertainty/budget.h"
#include "clockassay/uncertainty/reference.h"
#include "clockassay/uncertainty/timebase.h"
#include "clockassay/verdict/settling.h"
#include "clockassay/verdict/source_group.h"
#include "clockassay/verdict/verdict.h"

namespace clockassay {

struct EdgeCounts {
  std::int64_t rising = 0;
  std::int64_t falling = 0;
  std::int64_t missing = 0;  ///< lost cycles put back into the numbering
  std::int64_t extra = 0;    ///< edges left out
};

/// A part of the capture in which one regime held. Times since first stamp.
struct StretchRecord {
  Seconds from;
  Seconds to;
  EdgeCounts edges;
  std::optional<Budget> budget;  ///< absent: too few edges
  StretchBreak begins_after = StretchBreak::kStart;
};

/// One channel's results; the frequency is that of the last stretch.
struct ChannelResult {
  std::string name;
  std::vector<std::string> asked;  ///< the names it was asked for by
  EdgeCounts edges;
  std::optional<Budget> budget;  ///< absent: no clock on it
  EstimateMethod method = EstimateMethod::kIntervalOnly;
  std::optional<Hertz> bound_low;
  std::optional<Hertz> bound_high;
  std::optional<Seconds> period;
  std::optional<DutyEstimate> duty;
  Jitter jitter;
  std::optional<Stability> stability;            ///< where it was asked for
  std::optional<HalfPeriodJitter> half_periods;  ///< with stability
  std::optional<PeriodHistogram> periods;        ///< with stability
  SpectralCheck spectral_check;
  /// Where a few periods are off all others.
  std::optional<SteadyPeriods> steady_periods;
  std::optional<RegularRepairs> regular_repairs;
  /// Rate of the pulses as captured in the last stretch, lost cycles not put
  /// back and extra pulses not left out, against the frequency.
  Ppm as_captured{0.0};
  std::optional<TieSpectrum> spectrum;  ///< where it was asked for
  std::string no_spectrum;              ///< why there is none then
  /// With stability, and of a clock that does not pass what it is expected to.
  std::optional<OscillatorCharacter> character;
  std::optional<SpreadSpectrum> spread;  ///< with character, where there is one
  std::vector<StretchRecord> stretches;
  std::vector<CoursePoint> course;          ///< over all stretches
  std::optional<Rational> settle_within_s;  ///< where that was asked for
  /// From when on all parts show the frequency, as far as jitter and sampling
  /// let them; absent: not even the last does, or nothing is known of it.
  std::optional<Seconds> settled_after;
  Ppm time_wander;  ///< see FrequencyHistory
  std::vector<Warning> warnings;
  Seconds analysed_duration;  ///< first to last edge used
  /// Where the sampling interval is stated or seen.
  std::optional<double> samples_per_period;
  /// Of a voltage, where that of the capture is known: of its own samples,
  /// where they are farthest apart, which may be fewer than there are rows.
  std::optional<Rational> sample_rate_hz;
  std::optional<FewPhases> few_phases;
  bool is_reference = false;  ///< what the others are measured against
  /// The two nearest frequencies above half the sample rate that would give the
  /// same edges: no capture excludes them. Both or none.
  std::vector<Hertz> looks_like;
  std::optional<ChannelPictures> pictures;  ///< where they were asked for
};

/// A channel that carries no clock.
struct IdleChannel {
  std::string name;
  std::vector<std::string> asked;  ///< as ChannelResult
  std::int64_t edges = 0;
  /// Its level is known throughout; without edges it is then constant.
  bool level_known = true;
  /// Changes and back within one stamp: it was not constant.
  std::int64_t zero_width_pulses = 0;
  std::string never_turns = {};  ///< see ChannelRecord
};

/// What a reference channel said of the instrument.
struct ReferenceResult {
  ReferenceClock stated;
  std::string channel;  ///< its name in the file
  Timebase timebase;    ///< as measured by it
};

struct CaptureResult {
  std::string path;
  std::vector<Tag> tags;  ///< each key once
  std::string format;
  std::int64_t bytes = 0;   ///< of text
  std::string compression;  ///< "gzip", "zstd"; empty: none
  std::optional<std::int64_t> compressed_bytes;
  Seconds tick;
  Seconds text_resolution;             ///< step in which times are written
  std::string text_resolution_reason;  ///< how that is known, in words
  std::optional<Seconds> sample_interval;
  std::optional<Rational> sample_rate_hz;  ///< its reciprocal, exact
  std::string sample_interval_reason;      ///< how it is known, in words
  /// Where the text leaves the sample rate open: what it may be.
  std::vector<Rational> possible_rates_hz;
  Seconds window;             ///< within which an edge is known
  std::string window_reason;  ///< what that is made of, in words
  std::string sample_interval_source;
  Seconds duration;  ///< first to last stamp
  std::string origin;
  std::optional<ReferenceResult> reference;
  std::vector<ChannelResult> channels;
  std::vector<IdleChannel> idle_channels;
  std::vector<std::string> channel_names;  ///< all the file declares
  std::vector<Warning> warnings;
  std::optional<Understanding> understanding;  ///< where it was asked for
};

/// What was understood of a capture before it was refused.
struct RefusedCapture {
  std::string path;
  Understanding understanding;
};

/// Two captures held against each other.
struct ComparisonResult {
  std::string before;  ///< paths
  std::string after;
  Timebase timebase_before;
  Timebase timebase_after;
  ComparisonOptions options;
  /// Nothing was said of it: what the instrument may move is assumed.
  bool movement_assumed = false;
  std::vector<ClockShift> shifts;
  bool moved_alike = false;
};

/// Captures of a batch, each by the worst of its verdicts.
struct BatchSummary {
  std::size_t captures = 0;
  std::size_t pass = 0;
  std::size_t fail = 0;
  std::size_t undecided = 0;
  std::size_t unusable = 0;  ///< without a verdict: the errors say why
};

/// A file that was watched for: what tells that it is the same one.
struct WatchedFile {
  std::string name;  ///< within the folder
  std::int64_t bytes = 0;
  std::int64_t modified_ns = 0;  ///< since 1970 UTC
  std::string question = {};     ///< digest of what it was judged by
};

/// The one thing reports print.
struct Record {
  std::string tool_version;
  std::string command;  ///< "measure", "verify", "drift"
  std::string title;
  /// With a reference channel that of each capture is what counts.
  Timebase timebase;
  std::optional<Instrument> instrument;  ///< where a file states it
  double coverage = 0.95;
  std::vector<CaptureResult> captures;
  std::vector<RefusedCapture> refused;  ///< where that was asked for
  std::vector<SourceGroup> sources;     ///< clocks of one source, by capture
  std::vector<Verdict> verdicts;
  std::vector<DriftResult> drifts;  ///< one a board
  std::vector<Error> errors;
  std::optional<ComparisonResult> comparison;
  std::vector<Trend> trends;
  std::optional<WatchedFile> watched;
  /// Where several captures are judged.
  std::optional<BatchSummary> summary;
};

}  // namespace clockassay
