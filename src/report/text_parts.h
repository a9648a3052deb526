// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "clockassay/analysis/record.h"
#include "report/text_layout.h"

namespace clockassay {

/// That it is no calibration certificate, and of what.
const char* certificate_words(const Record& record);

/// What a verdict is of; nullptr: it is not there.
const CaptureResult* find_capture(const Record& record, const Verdict& v);
const ChannelResult* find_channel(const CaptureResult* capture,
                                  const Verdict& v);

/// The name of a channel, clock or file, printable and not too long.
std::string name_text(const std::string& name);

/// A message or a piece of a file, printable and not too long.
std::string message_text(const std::string& message);

/// "95 %"
std::string coverage_percent(double coverage);

/// What the record's figures were timed by; absent: it differs, or nobody kept
/// it. Of references the kind alone is common.
std::optional<Timebase> common_timebase(const Record& record);

/// "assumed 100 ppm, not stated"; also for the other kinds.
std::string timebase_text(const Timebase& timebase);

/// "ref, 10 MHz ± 0.1 ppm; by it the timebase is off by 12.3 ppm ± 0.12 ppm".
std::string reference_text(const ReferenceResult& reference);

/// "12.000 731 MHz ± 25 Hz (95 %)"
/// How far its edges went from where the expected clock's would be; empty
/// where nothing is expected.
std::string nominal_error_words(const ChannelResult& channel,
                                bool by_reference);
std::string frequency_text(const FrequencyResult& f);

/// "good.vcd: vcd, 1 234 bytes, 10 ms, …" and what the capture warns about.
void put_capture(TextLayout& out, const CaptureResult& capture);

/// How a capture was read (`--explain`).
void put_understanding(TextLayout& out, const CaptureResult& capture);
void put_understanding(TextLayout& out, const RefusedCapture& refused);

/// Everything about one channel (`measure`).
void put_channel(TextLayout& out, const ChannelResult& channel);

/// The spectrum of its time-interval error, where there is one.
void put_spectrum(TextLayout& out, const ChannelResult& channel);

/// The channel in one line (`measure --quiet`).
void put_channel_line(TextLayout& out, const ChannelResult& channel);

/// The verdict in one line: decision, clock, frequency, ppm ± U, limit.
/// `channel` is what it judged, nullptr when there was nothing.
void put_verdict_line(TextLayout& out, const Verdict& verdict,
                      const ChannelResult* channel, bool color,
                      bool name_capture);

/// "PASS", in its colour where that is wanted, then the parts, wrapped.
void put_decision_line(TextLayout& out, Decision decision,
                       const std::vector<std::string>& parts, bool color);

/// What is said of a curve beside its name: worst case, limit, range.
std::vector<std::string> drift_parts(const DriftResult& result);

/// The curve of one board in one line; `verdict` nullptr: none was asked for.
void put_drift_line(TextLayout& out, const DriftResult& result,
                    const Verdict* verdict, bool color);

/// All that is read off it, the verdict's reasons and the points.
void put_drift(TextLayout& out, const DriftResult& result,
               const Verdict* verdict);

/// Histories of clocks, each with its steps, limits and points.
void put_trends(TextLayout& out, const std::vector<Trend>& trends, bool quiet);

/// Its name, captures, steps and the latest.
std::vector<std::string> trend_parts(const Trend& trend);

/// "12 captures: 9 pass, 2 fail, 1 unusable".
std::string summary_words(const BatchSummary& summary);

/// "750.0067 kHz ± 1.1 Hz", what the timebase leaves open included.
std::string seen_frequency(const ClockSeen& clock);

/// "moved", "not seen to move", "gone", "new".
std::string shift_became(const ClockShift& shift);

/// What became of each clock between two captures.
void put_comparison(TextLayout& out, const ComparisonResult& comparison,
                    bool color, bool quiet);

/// The points of a drift as a table.
void put_drift_points(TextLayout& out, const DriftResult& r);

/// What its clock may come to over its life, share by share.
void put_life(TextLayout& out, const LifeStack& life);

/// What the verdict stands on, why, and what to do.
void put_verdict_details(TextLayout& out, const Verdict& verdict,
                         const CaptureResult* capture,
                         const ChannelResult* channel);

/// How often which period was seen (`measure --stability`).
void put_periods(TextLayout& out, const PeriodHistogram& periods);

/// The table of deviations against tau (`measure --stability`).
void put_stability(TextLayout& out, const Stability& stability);

/// One line a warning, with its code.
void put_warnings(TextLayout& out, const std::vector<Warning>& warnings);

}  // namespace clockassay
