// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/repair_warnings.h"

#include <algorithm>
#include <array>
#include <boost/math/distributions/binomial.hpp>
#include <cmath>

#include "clockassay/base/number_text.h"
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

std::string counted(std::int64_t count, const char* one, const char* more) {
  return std::to_string(count) + " " + (count == 1 ? one : more);
}

/// How many repairs, where the first few are, and what they are in the mean.
std::string repairs_text(const Setting& s, const AnalysedStretch& a,
                         Ppm as_captured) {
  const EdgeCounts& e = a.record.edges;
  std::string text = counted(e.missing, "lost cycle", "lost cycles") + " and " +
                     counted(e.extra, "extra edge", "extra edges") +
                     " were found and left out of the line:";
  std::size_t listed = 0;
  for (const Repair& r : a.repairs) {
    if (listed == kListedRepairs) {
      text += " …";
      break;
    }
    text += (listed == 0 ? " " : ", ");
    text +=
        (r.kind == RepairKind::kMissingCycle ? "lost before " : "extra at ") +
        seconds_text(since_first_stamp(s, r.time).value());
    ++listed;
  }
  constexpr double kDigits = 0.01;  // of it
  const double ppm = as_captured.value();
  if (ppm == 0.0) return text;
  return text + "; pulses as captured are " +
         offset_text(ppm, kDigits * std::abs(ppm)) +
         (ppm < 0.0 ? " fewer" : " more") + " than cycles of the line";
}

std::string regular_text(const RegularRepairs& regular) {
  const bool missing = regular.kind == RepairKind::kMissingCycle;
  return std::string(missing ? "cycles are missing" : "extra pulses come") +
         " at " + std::to_string(regular.places) +
         " places more evenly spaced than chance leaves them, with " +
         std::to_string(regular.spacing) + " cycles between them" +
         (regular.at_spacing == regular.places - 1
              ? ""
              : ", about " + std::to_string(regular.at_spacing) + " times") +
         (missing ? ": the clock may swallow pulses (a gate, a divider of two "
                    "ratios, a calibration that drops them) or the instrument "
                    "lose samples so"
                  : ": they may be another clock's, or put in by a "
                    "calibration");
}

/// How far apart pulses as captured and cycles of the line are in the mean.
Ppm as_captured_of(const AnalysedStretch& a) {
  const EdgeCounts& e = a.record.edges;
  const double cycles = static_cast<double>(e.rising + e.missing) - 1.0;
  if (cycles <= 0.0) return Ppm(0.0);
  const double edges_of_pulse = a.stretch->rising_only ? 1.0 : 2.0;
  const double extra = static_cast<double>(e.extra) / edges_of_pulse;
  return Ppm((extra - static_cast<double>(e.missing)) / cycles * 1e6);
}

}  // namespace

void look_at_repairs(const AnalysedStretch& last, ChannelResult& result) {
  if (!last.estimate || last.repairs.empty()) return;
  result.as_captured = as_captured_of(last);
  result.regular_repairs =
      find_regular_repairs(last.repairs, last.estimate->period_ticks);
}

void warn_of_repairs(const Setting& s, const AnalysedStretch& a,
                     ChannelResult& result) {
  std::vector<Warning>& warnings = result.warnings;
  const EdgeCounts& e = a.record.edges;
  if (e.missing == 0 && e.extra == 0) return;
  warnings.push_back(
      {WarningCode::kEdgesRepaired, repairs_text(s, a, result.as_captured)});
  if (result.regular_repairs) {
    warnings.push_back(
        {WarningCode::kRepairsRegular, regular_text(*result.regular_repairs)});
  }
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

}  // namespace clockassay
