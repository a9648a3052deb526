// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/edges/sampling_window.h"

#include <algorithm>
#include <cmath>
#include <functional>
#include <limits>

#include "clockassay/base/number_text.h"
#include "edges/interval_scan.h"

namespace clockassay {
namespace {

/// More samples between two edges than this are not believed without being
/// stated: stamps printed from binary fractions carry noise far below any
/// sampling interval, which would pass for one. Chosen.
constexpr std::int64_t kMostSamples = 1'000'000;

/// Text whose steps are finer than this part of the sampling interval is not
/// worth a warning: it widens the window by less. Chosen: a per cent.
constexpr double kNoticedStep = 0.01;

/// A steady clock that steps by k samples, and back, is no chance. Chosen: one
/// change alone may be a jump of the clock.
constexpr std::int64_t kFewestChanges = 2;

/// So many changes tell what all would. Chosen.
constexpr std::int64_t kPlentyOfChanges = 10'000;

/// Odds beyond which chance is excluded: once in ten to this power. Chosen.
constexpr double kExcludedPower = 6.0;

std::string in_seconds(double ticks, const TimeGrid& grid) {
  return number_text(ticks * grid.tick_s.to_double(), 6) + " s";
}

/// Ticks as a whole number that is not less; at most the longest time there
/// is, in which nothing is known.
Int128 rounded_up(const Rational& ticks) {
  constexpr Int128 kLongest = std::numeric_limits<std::int64_t>::max();
  const Int128 whole = ticks.num() / ticks.den() + (ticks.is_integer() ? 0 : 1);
  return std::min(whole, kLongest);
}

Rational at_most_longest(Int128 ticks) {
  constexpr Int128 kLongest = std::numeric_limits<std::int64_t>::max();
  return Rational(static_cast<std::int64_t>(std::min(ticks, kLongest)));
}

// Positive ticks. Where the exact result is no Rational (a rate of forty
// digits) it is rounded up: a window too wide is true, one too narrow is not.
Rational sum(const Rational& a, const Rational& b) {
  return add(a, b).value_or(at_most_longest(rounded_up(a) + rounded_up(b)));
}

Rational times(const Rational& a, std::int64_t n) {
  return multiply(a, Rational(n)).value_or(at_most_longest(rounded_up(a) * n));
}

/// The share of the capture that `ticks` are, in ppm: how far off the period of
/// a clock may be when the edges at its two ends are known to within `ticks`.
double share_ppm(double ticks, const IntervalScan& scan) {
  return ticks / static_cast<double>(scan.last - scan.first) * 1e6;
}

// "the frequency to 0.93 ppm over this capture instead of 0.83"
std::string cost(double with, double without, const IntervalScan& scan) {
  return "over this capture a frequency may so be off by up to " +
         number_text(share_ppm(with, scan), 3) + " ppm instead of " +
         number_text(share_ppm(without, scan), 3);
}

/// What text costs that cannot write every sample: samples are `interval`
/// ticks apart, or at most so.
std::string text_costs(double interval, bool stated, const IntervalScan& scan,
                       const TimeGrid& grid) {
  const auto q = static_cast<double>(grid.text_resolution_ticks);
  return "times are written in steps of " + in_seconds(q, grid) +
         ", samples are " + (stated ? "" : "at most ") +
         in_seconds(interval, grid) +
         " apart: an edge is known to within the sum of both only, and " +
         cost(interval + q, interval, scan) +
         "; the steps look like a jitter of " +
         in_seconds(q / std::sqrt(12.0), grid) +
         " rms on every edge that is not the clock's; write more digits";
}

void warn_of_text(const IntervalScan& scan, const Rational& interval,
                  const TimeGrid& grid, SamplingWindow& w) {
  const double t = interval.to_double();
  const auto q = static_cast<double>(grid.text_resolution_ticks);
  if (q > t) {
    w.warnings.push_back({WarningCode::kTextCoarse,
                          text_costs(t, true, scan, grid) +
                              ": edges may have been lost in the writing"});
  } else if (q >= kNoticedStep * t) {
    w.warnings.push_back(
        {WarningCode::kTextRounds, text_costs(t, true, scan, grid)});
  }
}

/// Whether intervals cannot be what the stated interval allows, which is then
/// said.
bool contradicts(const IntervalScan& scan, const Rational& interval,
                 const TimeGrid& grid, SamplingWindow& w) {
  // A stamp is off the grid by at most one text step, an interval by two; the
  // double it is computed in by far less.
  const double allowed =
      2.0 * static_cast<double>(grid.text_resolution_ticks) + 1e-6;
  const double t = interval.to_double();
  std::string why;
  if (t > 2.0 * allowed && scan.grid_error > allowed) {
    why = "the stated sampling interval of " + in_seconds(t, grid) +
          " does not fit: intervals between edges are off its multiples by up "
          "to " +
          in_seconds(scan.grid_error, grid);
  } else if (static_cast<double>(scan.shortest) + allowed < t) {
    why = "two edges are " +
          in_seconds(static_cast<double>(scan.shortest), grid) +
          " apart, less than the stated sampling interval of " +
          in_seconds(t, grid);
  }
  if (why.empty()) return false;
  w.interval_reason += "; contradicted by the edges";
  w.warnings.push_back({WarningCode::kSamplingContradicted,
                        why + "; state the true rate with --sample-rate"});
  return true;
}

std::string chance(std::int64_t k, std::int64_t changes) {
  const double power =
      static_cast<double>(changes) * std::log10(static_cast<double>(k));
  return power >= kExcludedPower ? "which is no chance"
                                 : "which chance does once in " +
                                       number_text(std::pow(10, power), 3);
}

/// scan_changes() of the channels, should it be asked for.
using ChangesAsked = std::function<ChangeScan(const ChangesEnough&)>;

/// The longest interval between samples that explains the edges as well as the
/// stated one, if they show more than the stated one would: then that is
/// reckoned with. Says so, and what a clock locked to the sampler leaves open.
Rational seen_interval(const IntervalScan& scan, const ChangesAsked& asked,
                       const Rational& stated, const IntervalQuestion& question,
                       const TimeGrid& grid, SamplingWindow& w) {
  const double t = stated.to_double();
  const auto text = static_cast<double>(question.text);
  const std::int64_t k = counts_samples(question) ? scan.samples_gcd : 1;
  ChangeScan changes;
  if (k >= 2) {
    changes = asked(
        [](const ChangeScan& c) { return c.changes >= kPlentyOfChanges; });
  } else if (!samples_show(question)) {
    // One that is shorter will do, or many of which none is more than rounding.
    const auto longest = static_cast<std::int64_t>(t + 2.0 * text);
    changes = asked([=](const ChangeScan& c) {
      return c.least_change <= longest ||
             (c.visible_changes == 0 && c.changes >= kPlentyOfChanges);
    });
  }
  Rational seen = stated;
  std::string what;
  if (k >= 2 && changes.changes >= kFewestChanges) {
    seen = times(stated, k);
    what = "all " + std::to_string(scan.count) +
           " intervals between edges are multiples of " + std::to_string(k) +
           " of them, and so are " + std::to_string(changes.changes) +
           " changes of length from one to the next that were looked at, " +
           chance(k, changes.changes);
  } else if (k >= 2 && w.source != SampleIntervalSource::kRows) {
    w.interval_reason +=
        "; not confirmed: all intervals are multiples of " + std::to_string(k);
    w.warnings.push_back(
        {WarningCode::kSamplingUnconfirmed,
         "the stated sampling interval of " + in_seconds(t, grid) +
             " is believed, not seen: all intervals between edges are "
             "multiples of " +
             std::to_string(k) +
             " of them, as they are for a clock locked to the sampler and for "
             "samples " +
             in_seconds(static_cast<double>(k) * t, grid) +
             " apart; were it the latter, a frequency might over this capture "
             "be off by up to " +
             number_text(share_ppm(static_cast<double>(k) * t, scan), 3) +
             " ppm instead of " + number_text(share_ppm(t, scan), 3)});
    return stated;
  }
  if (k < 2 && !samples_show(question) &&
      changes.visible_changes >= kFewestChanges &&
      static_cast<double>(changes.least_change) > t + 2.0 * text) {
    // Rounding leaves its multiples open: the least change bounds it.
    seen = Rational(changes.least_change + 2 * question.text);
    constexpr std::int64_t kMostMultiples = 100;  // chosen: a rate ten times
    // too high is a slip, a hundred times is none
    for (std::int64_t m = 1; m <= kMostMultiples; ++m) {
      const Rational multiple = times(stated, m);
      if (seen < multiple) break;
      if (const auto s = multiply(multiple, grid.tick_s)) {
        w.possible_intervals_s.push_back(*s);
      }
    }
    what = "lengths of neighbouring intervals differ by " +
           in_seconds(static_cast<double>(changes.least_change), grid) +
           " or more where they differ, never by one sample";
  }
  if (what.empty()) return stated;
  const double s = seen.to_double();
  w.interval_reason += "; " + in_seconds(t, grid) + " were stated, " +
                       in_seconds(s, grid) + " are seen";
  w.warnings.push_back(
      {WarningCode::kSamplingFinerThanSeen,
       "the stated sampling interval of " + in_seconds(t, grid) +
           " is finer than what is seen: " + what + "; samples " +
           in_seconds(s, grid) + " apart are reckoned with, and " +
           cost(s, t, scan) + "; check the stated sample rate"});
  return seen;
}

std::string source_in_words(const TimeGrid& grid) {
  if (!grid.source_reason.empty()) return grid.source_reason;
  switch (grid.source) {
    case SampleIntervalSource::kOption:
      return "--sample-rate";
    case SampleIntervalSource::kHeader:
      return "stated in the file";
    case SampleIntervalSource::kRows:
      return "rows are one per sample";
    case SampleIntervalSource::kInferred:
    case SampleIntervalSource::kUnknown:
      break;
  }
  return "";
}

SamplingWindow stated_window(const IntervalScan& scan,
                             const ChangesAsked& asked, const Rational& stated,
                             const IntervalQuestion& question,
                             const TimeGrid& grid) {
  const Rational text(grid.text_resolution_ticks);
  SamplingWindow w;
  w.source = grid.source;
  w.interval_reason = source_in_words(grid);
  const bool wrong = contradicts(scan, stated, grid, w);
  const Rational interval =
      wrong ? stated : seen_interval(scan, asked, stated, question, grid, w);
  w.sample_interval_s = multiply(interval, grid.tick_s);
  // Where the text can say every sample and every stamp is one, it rounds
  // nothing.
  const bool on_grid = interval.is_integer() &&
                       interval.num() % grid.text_resolution_ticks == 0 &&
                       static_cast<Int128>(scan.gcd) % interval.num() == 0;
  w.window_ticks = on_grid ? interval : sum(interval, text);
  w.window_reason = on_grid ? "one sampling interval"
                            : "one sampling interval and one step of the text";
  if (!on_grid && (!wrong || text > interval)) {
    warn_of_text(scan, interval, grid, w);
  }
  return w;
}

/// The longest the sampling interval can be [ticks], for stamps in steps of
/// `text`. Two edges are at least a sample apart. Two intervals of as many
/// samples differ by less than two text steps, so that two differing by more
/// differ by at least a sample, give or take two steps.
std::int64_t longest_interval(const IntervalScan& scan, std::int64_t text) {
  std::int64_t bound = scan.shortest;
  for (const std::int64_t length : scan.lengths) {
    const auto next = scan.lengths.upper_bound(length + 2 * text);
    if (next != scan.lengths.end()) bound = std::min(bound, *next - length);
  }
  return bound + 2 * text;
}

SamplingWindow inferred_window(const IntervalScan& scan, const TimeGrid& grid) {
  const std::int64_t text = grid.text_resolution_ticks;
  const std::int64_t longest = longest_interval(scan, text);
  SamplingWindow w;
  w.window_ticks = Rational(longest + text);
  w.window_reason =
      "the longest the sampling interval can be, and one step of the text";
  const std::string bound =
      "it is at most " + in_seconds(static_cast<double>(longest), grid) +
      ", and that is reckoned with; state the sample rate for a narrower "
      "result";
  const std::string divisor =
      "greatest common divisor of " + std::to_string(scan.count) + " intervals";
  // Samples at multiples of g explain all stamps without rounding, and a
  // sampling interval much longer than g would be seen.
  if (scan.gcd >= 2 * text && scan.gcd + 2 * text >= longest &&
      scan.shortest / scan.gcd <= kMostSamples) {
    w.source = SampleIntervalSource::kInferred;
    w.sample_interval_s = multiply(Rational(scan.gcd), grid.tick_s);
    w.interval_reason = divisor;
    w.warnings.push_back({WarningCode::kSamplingInferred,
                          "the sampling interval is not stated; by the "
                          "intervals between edges " +
                              bound});
    return w;
  }
  w.interval_reason = "not stated, and not the " + divisor + ", " +
                      in_seconds(static_cast<double>(scan.gcd), grid);
  w.warnings.push_back(
      {WarningCode::kSamplingNotVisible,
       "the sampling interval is neither stated nor visible; by the "
       "intervals between edges " +
           bound});
  if (scan.shortest / text <= kMostSamples &&
      static_cast<double>(text) >=
          kNoticedStep * static_cast<double>(longest)) {
    w.warnings.push_back(
        {WarningCode::kTextRounds,
         text_costs(static_cast<double>(longest), false, scan, grid)});
  }
  return w;
}

/// Of channels that are all interpolated: both the true crossing of the
/// threshold and its stamp lie between two samples.
SamplingWindow interpolated_window(std::span<const ChannelRecord> channels,
                                   const TimeGrid& grid) {
  std::int64_t step = 0;
  for (const ChannelRecord& channel : channels) {
    step = std::max(step, channel.longest_step.count());
  }
  SamplingWindow w;
  w.window_ticks = sum(Rational(step), Rational(grid.text_resolution_ticks));
  w.window_reason =
      "the longest step from one sample to the next, between which the edge is "
      "interpolated, and one step of the text";
  w.sample_interval_s = grid.sample_interval_s;
  w.source = grid.source;
  w.interval_reason = source_in_words(grid);
  if (!w.sample_interval_s && step > 0) {
    w.sample_interval_s = multiply(Rational(step), grid.tick_s);
    w.source = SampleIntervalSource::kRows;
    w.interval_reason = "the longest step from one row to the next";
  }
  return w;
}

}  // namespace

SamplingWindow sampling_window(std::span<const ChannelRecord> channels,
                               const TimeGrid& grid,
                               const ParallelFor& parallel_for) {
  if (!channels.empty() &&
      std::all_of(channels.begin(), channels.end(),
                  [](const ChannelRecord& c) { return c.interpolated; })) {
    return interpolated_window(channels, grid);
  }
  std::optional<Rational> interval;
  if (grid.sample_interval_s) {
    interval = divide(*grid.sample_interval_s, grid.tick_s);
  }
  IntervalQuestion question{{}, grid.text_resolution_ticks, false};
  if (interval) {
    question.sample = interval->to_double();
    question.exact = interval->is_integer() &&
                     interval->num() % grid.text_resolution_ticks == 0;
  }
  const IntervalScan scan = scan_intervals(channels, question, parallel_for);
  if (scan.gcd == 0) {  // no interval at all
    SamplingWindow w;
    w.window_ticks = Rational(grid.text_resolution_ticks);
    w.window_reason = "one step of the text: there are no intervals";
    w.sample_interval_s = grid.sample_interval_s;
    w.source = grid.source;
    w.interval_reason = source_in_words(grid);
    return w;
  }
  const ChangesAsked asked = [&](const ChangesEnough& are_enough) {
    return scan_changes(channels, question, are_enough, parallel_for);
  };
  return interval ? stated_window(scan, asked, *interval, question, grid)
                  : inferred_window(scan, grid);
}

}  // namespace clockassay
