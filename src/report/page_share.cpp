// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <cmath>
#include <numeric>
#include <tuple>

#include "clockassay/report/html_report.h"
#include "report/html_summary.h"

namespace clockassay {
namespace {

int severity(Decision decision) {
  switch (decision) {
    case Decision::kFail:
      return 0;
    case Decision::kUndecided:
      return 1;
    case Decision::kPass:
      break;
  }
  return 2;
}

/// Of so many things the first get charts, more of them text.
Shown shown_at(std::size_t place) {
  if (place < kMostWithCharts) return Shown::kCharts;
  return place < kMostInFull ? Shown::kText : Shown::kRow;
}

/// The worst first. A clock that is not there is off by all there is.
std::vector<std::size_t> by_weight(const std::vector<Verdict>& verdicts) {
  std::vector<std::size_t> order(verdicts.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  const auto key = [&verdicts](std::size_t i) {
    const Verdict& v = verdicts[i];
    return std::tuple(severity(v.decision),
                      v.error ? -std::abs(v.error->value()) : -HUGE_VAL);
  };
  std::stable_sort(
      order.begin(), order.end(),
      [&key](std::size_t a, std::size_t b) { return key(a) < key(b); });
  return order;
}

bool is_judged_as(const Verdict& v, const CaptureResult& capture,
                  const ChannelResult& channel) {
  return v.capture == capture.path && v.channel == channel.name;
}

}  // namespace

PageShare::PageShare(const Record& record) {
  verdicts.assign(record.verdicts.size(), Shown::kRow);
  const auto order = by_weight(record.verdicts);
  for (std::size_t i = 0; i < order.size(); ++i) {
    verdicts[order[i]] = shown_at(i);
  }
  // Curves have a verdict each, or none has one.
  drifts.assign(record.drifts.size(), Shown::kRow);
  for (std::size_t i = 0; i < drifts.size(); ++i) {
    drifts[i] = i < verdicts.size() ? verdicts[i] : shown_at(i);
  }
  trends.assign(record.trends.size(), Shown::kRow);
  for (std::size_t i = 0; i < trends.size(); ++i) {
    // Their charts are small.
    trends[i] = i < kMostInFull ? Shown::kCharts : Shown::kRow;
  }

  for (const CaptureResult& capture : record.captures) {
    channels.emplace_back(capture.channels.size(), Shown::kRow);
  }
  std::size_t count = 0;
  const auto take = [&](std::size_t c, std::size_t i) {
    if (channels[c][i] == Shown::kRow) channels[c][i] = shown_at(count++);
  };
  for (const std::size_t v : order) {
    if (verdicts[v] == Shown::kRow) break;
    for (std::size_t c = 0; c < record.captures.size(); ++c) {
      const CaptureResult& capture = record.captures[c];
      for (std::size_t i = 0; i < capture.channels.size(); ++i) {
        if (is_judged_as(record.verdicts[v], capture, capture.channels[i])) {
          take(c, i);
        }
      }
    }
  }
  for (std::size_t c = 0; c < channels.size() && count < kMostInFull; ++c) {
    for (std::size_t i = 0; i < channels[c].size(); ++i) take(c, i);
  }

  const auto all = [](const std::vector<Shown>& list) {
    return std::all_of(list.begin(), list.end(),
                       [](Shown s) { return s == Shown::kCharts; });
  };
  is_all = all(verdicts) && all(drifts) && all(trends) &&
           std::all_of(channels.begin(), channels.end(), all) &&
           record.errors.size() <= kMostInFull &&
           record.captures.size() <= kMostInFull;
}

void drop_unshown_pictures(Record& record) {
  const PageShare share(record);
  for (std::size_t c = 0; c < record.captures.size(); ++c) {
    std::vector<ChannelResult>& channels = record.captures[c].channels;
    for (std::size_t i = 0; i < channels.size(); ++i) {
      if (share.channels[c][i] != Shown::kCharts) channels[i].pictures.reset();
    }
  }
}

bool PageShare::shows(std::size_t capture) const {
  const std::vector<Shown>& list = channels[capture];
  // Of a capture without a clock there is nothing but how it was read.
  if (list.empty()) return capture < kMostInFull;
  return std::any_of(list.begin(), list.end(),
                     [](Shown s) { return s != Shown::kRow; });
}

}  // namespace clockassay
