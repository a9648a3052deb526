// SPDX-License-Identifier: GPL-3.0-or-later
#include "support/faults/signal.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <queue>
#include <utility>

namespace clockassay::faults {
namespace {

double length_of(const Signal& signal, std::int64_t k, double t, Draw& draw) {
  double length = 1.0 / signal.frequency_hz;
  if (signal.course) length /= 1.0 + signal.course(t);
  if (!signal.lengths.empty()) {
    length *=
        signal.lengths[static_cast<std::size_t>(k) % signal.lengths.size()];
  }
  if (signal.period_noise > 0.0) {
    length *= std::max(0.1, 1.0 + signal.period_noise * draw.normal());
  }
  return length;
}

// Before time 0 only the level counts.
void take_change(Changes& changes, double t) {
  if (t <= 0.0) {
    changes.high = !changes.high;
    return;
  }
  if (!changes.at_s.empty()) {
    t = std::max(t, std::nextafter(changes.at_s.back(), 1e9));
  }
  changes.at_s.push_back(t);
}

}  // namespace

Changes changes_of(const Signal& signal, double duration_s, Draw& draw) {
  Changes changes;
  if (signal.frequency_hz <= 0.0) return changes;
  double t = -draw.uniform(0.0, 1.0) / signal.frequency_hz;
  for (std::int64_t k = 0; t < std::min(duration_s, signal.stops_at_s); ++k) {
    const double length = length_of(signal, k, std::max(t, 0.0), draw);
    if (!signal.passes || signal.passes(k)) {
      take_change(changes, t + signal.jitter_s * draw.normal());
      take_change(changes,
                  t + signal.duty * length + signal.jitter_s * draw.normal());
    }
    t += length;
  }
  return changes;
}

SampledChannel sampled(const Changes& changes, double rate_hz,
                       std::int64_t last_sample) {
  SampledChannel channel;
  channel.high = changes.high;
  for (const double t : changes.at_s) {
    const auto n = static_cast<std::int64_t>(std::ceil(t * rate_hz));
    if (n > last_sample) break;
    if (!channel.change.empty() && channel.change.back() == n) {
      channel.change.pop_back();
    } else {
      channel.change.push_back(n);
    }
  }
  return channel;
}

namespace {

// Samples [from, to) are not there; what turned among them turns behind them.
void cut(SampledChannel& channel, std::int64_t from, std::int64_t to,
         bool closes_up) {
  std::vector<std::int64_t> kept;
  bool turned = false;
  const auto turn = [&] {
    if (turned) kept.push_back(closes_up ? from : to);
    turned = false;
  };
  for (const std::int64_t n : channel.change) {
    if (n < from) {
      kept.push_back(n);
    } else if (n <= to) {
      turned = !turned;
    } else {
      turn();
      kept.push_back(closes_up ? n - (to - from) : n);
    }
  }
  turn();
  channel.change = std::move(kept);
}

}  // namespace

void lose_samples(SampledChannel& channel, std::int64_t from, std::int64_t to) {
  cut(channel, from, to, true);
}

void hold_samples(SampledChannel& channel, std::int64_t from, std::int64_t to) {
  cut(channel, from, to, false);
}

void add_glitch(SampledChannel& channel, std::int64_t at,
                std::int64_t samples) {
  const auto next =
      std::upper_bound(channel.change.begin(), channel.change.end(), at - 1);
  const bool clear_after = next == channel.change.end() || *next > at + samples;
  const bool clear_before =
      next == channel.change.begin() || *std::prev(next) < at - 1;
  if (!clear_after || !clear_before || at < 2) return;
  const std::array<std::int64_t, 2> pulse{at, at + samples};
  channel.change.insert(next, pulse.begin(), pulse.end());
}

void miss_pulse(SampledChannel& channel, std::size_t pulse) {
  const std::size_t first = 2 * pulse + (channel.high ? 1 : 0);
  if (first + 1 >= channel.change.size()) return;
  const auto at = channel.change.begin() + static_cast<std::ptrdiff_t>(first);
  channel.change.erase(at, at + 2);
}

void keep_rises(SampledChannel& channel) {
  std::vector<std::int64_t> kept;
  bool high = channel.high;
  for (const std::int64_t n : channel.change) {
    high = !high;
    if (high) kept.push_back(n);
  }
  channel.change = std::move(kept);
  channel.high = false;
}

namespace {

constexpr double kPicosecondsASecond = 1e12;

std::int64_t picoseconds(std::int64_t sample, double rate_hz) {
  // Below 2^53 as a double, so exact where the interval is whole picoseconds.
  return std::llround(static_cast<double>(sample) *
                      (kPicosecondsASecond / rate_hz));
}

// Takes the changes of all channels in the order of time, those of one sample
// together.
template <class Row>
void for_each_row(const std::vector<SampledChannel>& channels, const Row& row) {
  using Next = std::pair<std::int64_t, std::size_t>;
  std::priority_queue<Next, std::vector<Next>, std::greater<>> next;
  std::vector<std::size_t> at(channels.size(), 0);
  for (std::size_t c = 0; c < channels.size(); ++c) {
    if (!channels[c].change.empty()) next.emplace(channels[c].change[0], c);
  }
  while (!next.empty()) {
    const std::int64_t sample = next.top().first;
    std::vector<std::size_t> changed;
    while (!next.empty() && next.top().first == sample) {
      const std::size_t c = next.top().second;
      next.pop();
      changed.push_back(c);
      if (++at[c] < channels[c].change.size()) {
        next.emplace(channels[c].change[at[c]], c);
      }
    }
    row(sample, changed);
  }
}

std::string csv_time(std::int64_t sample, double rate_hz) {
  std::array<char, 40> text;
  const std::int64_t ps = picoseconds(sample, rate_hz);
  std::snprintf(text.data(), text.size(), "%lld.%012lld",
                static_cast<long long>(ps / 1'000'000'000'000),
                static_cast<long long>(ps % 1'000'000'000'000));
  return text.data();
}

std::string rate_line(const Writing& writing) {
  std::array<char, 60> text;
  std::snprintf(text.data(), text.size(), "sample rate: %.0f Hz",
                writing.rate_hz);
  return text.data();
}

std::string csv_levels(const std::vector<bool>& high) {
  std::string text;
  for (const bool h : high) text += h ? ",1" : ",0";
  return text + "\n";
}

std::string written_csv(const std::vector<SampledChannel>& channels,
                        const Writing& writing) {
  std::string text;
  if (writing.states_rate) text += "# " + rate_line(writing) + "\n";
  text += "time_s";
  std::vector<bool> high;
  for (const SampledChannel& c : channels) {
    text += "," + c.name;
    high.push_back(c.high);
  }
  text += "\n" + csv_time(0, writing.rate_hz) + csv_levels(high);
  std::int64_t seen = 0;
  for_each_row(channels, [&](std::int64_t sample, const auto& changed) {
    for (const std::size_t c : changed) high[c] = !high[c];
    text += csv_time(sample, writing.rate_hz) + csv_levels(high);
    seen = sample;
  });
  if (seen < writing.last_sample) {
    text += csv_time(writing.last_sample, writing.rate_hz) + csv_levels(high);
  }
  return text;
}

// The coarsest of 1 ns … 1 ps of which the sampling interval is a multiple.
std::int64_t vcd_tick_ps(double rate_hz) {
  const double interval_ps = kPicosecondsASecond / rate_hz;
  for (const std::int64_t tick : {1000, 100, 10}) {
    if (std::fmod(interval_ps, static_cast<double>(tick)) == 0.0) return tick;
  }
  return 1;
}

std::string vcd_timescale(std::int64_t tick_ps) {
  return tick_ps == 1000 ? "1 ns" : std::to_string(tick_ps) + " ps";
}

std::string written_vcd(const std::vector<SampledChannel>& channels,
                        const Writing& writing) {
  const std::int64_t tick = vcd_tick_ps(writing.rate_hz);
  const auto stamp = [&](std::int64_t sample) {
    return "#" + std::to_string(picoseconds(sample, writing.rate_hz) / tick) +
           "\n";
  };
  const auto id = [](std::size_t c) { return static_cast<char>('!' + c); };
  std::string text;
  if (writing.states_rate) {
    text += "$comment " + rate_line(writing) + " $end\n";
  }
  text += "$timescale " + vcd_timescale(tick) + " $end\n";
  std::vector<bool> high;
  std::string first = stamp(0);
  for (std::size_t c = 0; c < channels.size(); ++c) {
    text += std::string("$var wire 1 ") + id(c) + " " + channels[c].name +
            " $end\n";
    high.push_back(channels[c].high);
    first += std::string(high[c] ? "1" : "0") + id(c) + "\n";
  }
  text += "$enddefinitions $end\n" + first;
  for_each_row(channels, [&](std::int64_t sample, const auto& changed) {
    text += stamp(sample);
    for (const std::size_t c : changed) {
      high[c] = !high[c];
      text += std::string(high[c] ? "1" : "0") + id(c) + "\n";
    }
  });
  return text + stamp(writing.last_sample);
}

}  // namespace

std::string written(const std::vector<SampledChannel>& channels,
                    const Writing& writing) {
  return writing.csv ? written_csv(channels, writing)
                     : written_vcd(channels, writing);
}

}  // namespace clockassay::faults
