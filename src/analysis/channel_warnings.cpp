// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/channel_warnings.h"

#include <algorithm>
#include <array>
#include <boost/math/distributions/binomial.hpp>
#include <cmath>

#include "clockassay/base/number_text.h"
#include "clockassay/edges/numbering.h"
#include "clockassay/estimate/pulse_widths.h"
#include "verdict/wording.h"

namespace clockassay {
namespace {

/// Above this share of repaired edges the numbering is not to be trusted.
/// Chosen: twice what repairs were shown to survive by simulation.
constexpr double kDoubtfulShare = 0.2;
/// Below this many rising edges no repair is trusted. Chosen.
constexpr std::int64_t kFewestWithRepairs = 16;
/// Above this rms of period jitter, as a fraction of the period, edges next to
/// lost and extra ones cannot be told to belong to one cycle. By simulation: no
/// slip in 400 captures with edges of 0.15 rms, which make 0.21, and a tenth of
/// faults; first ones at 0.17.
constexpr double kMostJitter = 0.2;
/// Repairs listed one by one in a warning.
constexpr std::size_t kListedRepairs = 3;

/// Seconds, to nine digits.
std::string seconds(double value) {
  return number_text(value, 9) + " s";
}

/// Whether the first or last few cycles are mostly repairs: a change of
/// frequency too short to show as a regime of its own.
bool repairs_at_an_end(const AnalysedStretch& a) {
  constexpr double kCycles = 10.0;    // at half the rate five are lost in them
  constexpr std::int64_t kCrowd = 5;  // chosen: rare with a tenth of faults
  if (!a.estimate) return false;
  const double reach = kCycles * a.estimate->period_ticks;
  std::int64_t at_first = 0, at_last = 0;
  for (const Repair& r : a.repairs) {
    const auto after = static_cast<double>((r.time - a.first).count());
    const auto before = static_cast<double>((a.last - r.time).count());
    if (after < reach) at_first += r.count;
    if (before < reach) at_last += r.count;
  }
  return std::max(at_first, at_last) >= kCrowd;
}

/// Whether repairs come in a crowd somewhere, as where the clock itself was
/// another for a while, and damage does not: a run of cycles of which more are
/// repaired than chance makes once in some thousand captures, at the rate of
/// all.
bool repairs_crowd(const AnalysedStretch& a) {
  constexpr double kOnceIn = 1e-4;
  constexpr std::size_t kFewest = 4;  // chosen: less is any damage
  constexpr double kRare = 3.0;       // standard deviations; a quick look
  if (!a.estimate) return false;
  // A cycle with two extra edges is one; a gap is one, however long.
  std::vector<double> cycles;
  for (const Repair& r : a.repairs) {
    const double cycle =
        std::floor(static_cast<double>((r.time - a.first).count()) /
                   a.estimate->period_ticks);
    if (cycles.empty() || cycle > cycles.back()) cycles.push_back(cycle);
  }
  const double all = static_cast<double>((a.last - a.first).count()) /
                     a.estimate->period_ticks;
  const double rate = static_cast<double>(cycles.size()) / all;
  if (rate >= 1.0) return true;
  for (std::size_t count = kFewest; count <= cycles.size(); count *= 2) {
    for (std::size_t i = 0; i + count <= cycles.size(); ++i) {
      const double length = cycles[i + count - 1] - cycles[i] + 1.0;
      // The run begins at a repair: the others are drawn.
      const double drawn = static_cast<double>(count) - 1.0;
      const double mean = (length - 1.0) * rate;
      if (drawn <= mean + kRare * std::sqrt(mean)) continue;
      const boost::math::binomial others(length - 1.0, rate);
      const double chance = cdf(complement(others, drawn - 1.0));
      if (chance * static_cast<double>(cycles.size()) < kOnceIn) return true;
    }
  }
  return false;
}

/// Whether the extra edges come at the same place of the period, as damage does
/// not: chance puts a tenth of them into any two neighbouring twentieths.
bool extra_edges_pile_up(const AnalysedStretch& a) {
  constexpr std::size_t kBins = 20;
  constexpr std::int64_t kFewest = 40;  // chosen: chance stays far below kShare
  constexpr double kShare = 0.4;
  if (!a.estimate || a.record.edges.extra < kFewest) return false;
  const double period = a.estimate->period_ticks;
  std::array<std::int64_t, kBins> bins{};
  for (const Repair& r : a.repairs) {
    if (r.kind != RepairKind::kExtraEdge) continue;
    const double turns =
        static_cast<double>((r.time - a.first).count()) / period;
    const double place = turns - std::floor(turns);
    ++bins[std::min(kBins - 1, static_cast<std::size_t>(place * kBins))];
  }
  std::int64_t most = 0;
  for (std::size_t i = 0; i < kBins; ++i) {
    most = std::max(most, bins[i] + bins[(i + 1) % kBins]);
  }
  return static_cast<double>(most) >
         kShare * static_cast<double>(a.record.edges.extra);
}

/// By how much the frequency stepped from one stretch to the next, where that
/// is known and not seen at a glance.
std::string change_words(const StretchRecord& before,
                         const StretchRecord& after) {
  if (after.begins_after != StretchBreak::kFrequencyStep || !before.budget ||
      !after.budget) {
    return "";
  }
  const FrequencyResult& from = before.budget->relative_to_timebase;
  const FrequencyResult& to = after.budget->relative_to_timebase;
  const double change = (to.value - from.value).value();
  const double unknown =
      (to.expanded_uncertainty + from.expanded_uncertainty).value();
  if (std::abs(change) <= unknown) return "";
  const double ppm = 1e-6 * from.value.value();
  return " (" + ppm_text(change / ppm, unknown / ppm) + " ppm)";
}

/// How many repairs, and where the first few are.
std::string repairs_text(const Setting& s, const AnalysedStretch& a) {
  const EdgeCounts& e = a.record.edges;
  std::string text = std::to_string(e.missing) + " lost cycles and " +
                     std::to_string(e.extra) +
                     " extra edges were found and left out of the line:";
  std::size_t listed = 0;
  for (const Repair& r : a.repairs) {
    if (listed == kListedRepairs) {
      text += " …";
      break;
    }
    text += (listed == 0 ? " " : ", ");
    text +=
        (r.kind == RepairKind::kMissingCycle ? "lost before " : "extra at ") +
        seconds(since_first_stamp(s, r.time).value());
    ++listed;
  }
  return text;
}

}  // namespace

std::string break_words(StretchBreak why) {
  switch (why) {
    case StretchBreak::kStart:
      return "the capture begins";
    case StretchBreak::kUnknownLevel:
      return "the level was unknown";
    case StretchBreak::kStopped:
      return "the clock stopped";
    case StretchBreak::kRegimeChange:
    case StretchBreak::kFrequencyStep:
      return "the frequency or phase jumped";
    case StretchBreak::kSettlingEnds:
      return "the time for settling ended";
  }
  return "";
}

void warn_of_narrow_pulses(const Setting& s, const EdgeView& view,
                           const ParallelFor& parallel_for,
                           std::vector<Warning>& warnings) {
  if (s.source == SampleIntervalSource::kUnknown) return;
  const double window = s.scale.window_ticks.to_double();
  const double sample =
      s.scale.sample_ticks ? s.scale.sample_ticks->to_double() : window;
  const PulseWidths pulses =
      count_pulses(view, window + 0.25 * sample, parallel_for);
  if (!may_be_missed(pulses)) return;
  const bool high = highs_may_be_missed(pulses);
  const std::int64_t of = high ? pulses.highs : pulses.lows;
  const std::int64_t shorter =
      of - (high ? pulses.long_highs : pulses.long_lows);
  const std::string seen = std::to_string(shorter) + " of " +
                           std::to_string(of) +
                           (high ? " high times" : " low times") +
                           " seen are one sampling interval long";
  if (s.source == SampleIntervalSource::kInferred) {
    warnings.push_back({WarningCode::kSamplingNotVisible,
                        seen +
                            " if that interval is inferred right: shorter "
                            "pulses would be missed, and the clock be a "
                            "multiple of what is seen; state the sample rate"});
    return;
  }
  warnings.push_back({WarningCode::kNarrowPulses,
                      seen +
                          ": shorter ones were missed if there are any, and "
                          "the clock may be a multiple of what is seen; sample "
                          "several times as fast"});
}

void warn_of_repairs(const Setting& s, const AnalysedStretch& a,
                     std::vector<Warning>& warnings) {
  const EdgeCounts& e = a.record.edges;
  if (e.missing == 0 && e.extra == 0) return;
  warnings.push_back({WarningCode::kEdgesRepaired, repairs_text(s, a)});
  const auto doubt = [&](const char* why) {
    warnings.push_back({WarningCode::kRepairDoubtful, why});
  };
  if (repairs_at_an_end(a) || e.rising < kFewestWithRepairs) {
    doubt(
        "repairs crowd at an end of the clock's run, or are too many for so "
        "few edges: another frequency may begin or end there");
  }
  if (repairs_crowd(a)) {
    doubt(
        "repairs come in a crowd, more than damage by chance does: the clock "
        "may have been another for a while, or have stopped");
  }
  if (extra_edges_pile_up(a)) {
    doubt(
        "the extra edges pile up at one place of the period: they may be "
        "another clock's, or this one's, at a multiple");
  }
  if (a.estimate && a.estimate->jitter.period_rms &&
      *a.estimate->jitter.period_rms > kMostJitter * a.estimate->period) {
    doubt(
        "periods vary so much that lost and extra edges cannot be told from "
        "the clock's own");
  }
  const auto repaired = static_cast<double>(e.missing + e.extra);
  const auto seen = static_cast<double>(e.rising + e.falling);
  if (repaired > kDoubtfulShare * seen) {
    doubt(
        "that is too large a share of the edges for the numbering to be "
        "trusted; find out what damages the capture (threshold, ground, "
        "sample rate)");
  }
}

void warn_of_breaks(const Setting& s, const EdgeStore& store,
                    const std::vector<AnalysedStretch>& stretches,
                    const std::optional<Rational>& settle_within_s,
                    std::vector<Warning>& warnings) {
  const auto while_settling = [&](const AnalysedStretch& a) {
    return settle_within_s &&
           a.record.from.value() <= settle_within_s->to_double();
  };
  // Those that begin later than the clock may settle, and the one before them.
  std::size_t count = 1;
  for (std::size_t i = 1; i < stretches.size(); ++i) {
    if (stretches[i].why == StretchBreak::kSettlingEnds) continue;
    count += !while_settling(stretches[i]);
  }
  if (count > 1) {
    const AnalysedStretch& last = stretches.back();
    warnings.push_back(
        {WarningCode::kSeveralStretches,
         "the capture falls into " + std::to_string(count) +
             " stretches; the result is that of the last, which begins at " +
             seconds(last.record.from.value()) + ", after " +
             break_words(last.why) +
             change_words(stretches[stretches.size() - 2].record,
                          last.record)});
  }
  if (stretches.back().uneven_cycles > 0) {
    warnings.push_back(
        {WarningCode::kUnevenPeriods,
         "periods vary by more than a quarter, in " +
             std::to_string(stretches.back().uneven_cycles) +
             " cycles: either the clock jitters that much, or pulses are "
             "missing in a regular pattern and the clock is another"});
  }
  const bool before_settled =
      settle_within_s && store.last_unnumbered &&
      since_first_stamp(s, *store.last_unnumbered).value() <=
          settle_within_s->to_double();
  if (store.unnumbered_edges > 0 && !before_settled) {
    warnings.push_back({WarningCode::kRepairDoubtful,
                        std::to_string(store.unnumbered_edges) +
                            " edges belong to no steady clock and were left "
                            "out"});
  }
}

void warn_of_silence(const Setting& s, const AnalysedStretch& last,
                     std::vector<Warning>& warnings) {
  if (!last.estimate) return;
  const double silence =
      since_first_stamp(s, s.to).value() - last.run_to.value();
  if (silence <= kStopPeriods * last.estimate->period.value()) return;
  warnings.push_back({WarningCode::kClockStopped,
                      "no edge is seen in the last " + seconds(silence) +
                          " of what is analysed: the clock stopped, or its "
                          "level is unknown"});
}

void warn_of_reading(const ChannelRecord& record,
                     std::vector<Warning>& warnings) {
  if (record.zero_width_pulses > 0) {
    warnings.push_back({WarningCode::kZeroWidthPulses,
                        std::to_string(record.zero_width_pulses) +
                            " pulses of no width were left out"});
  }
  if (record.unknown_stretches > 0) {
    warnings.push_back(
        {WarningCode::kUnknownLevels,
         "the level is unknown in " + std::to_string(record.unknown_stretches) +
             (record.unknown_stretches == 1 ? " place" : " places") +
             "; no period reaches across them"});
  }
}

}  // namespace clockassay
