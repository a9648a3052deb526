// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/analysis/rows_of.h"

#include <algorithm>

namespace clockassay {
namespace {

StoredRow row_of_capture(const Record& part, const CaptureResult& capture,
                         double taken_s) {
  StoredRow row;
  row.taken_s = taken_s;
  row.capture = capture.path;
  row.command = part.command;
  row.tool_version = part.tool_version;
  row.timebase =
      capture.reference ? capture.reference->timebase : part.timebase;
  row.tags = capture.tags;
  std::sort(row.tags.begin(), row.tags.end(),
            [](const Tag& a, const Tag& b) { return a.key < b.key; });
  return row;
}

void take_channel(const ChannelResult& channel, StoredRow& row) {
  row.channel = channel.name;
  if (channel.budget) row.frequency = channel.budget->frequency.value;
  if (!channel.jitter.resolution_limited) {
    row.period_jitter = channel.jitter.period_rms;
  }
  if (channel.duty) row.duty = channel.duty->value;
}

const ChannelResult* find_channel(const CaptureResult& capture,
                                  const std::string& name) {
  const auto found =
      std::find_if(capture.channels.begin(), capture.channels.end(),
                   [&name](const ChannelResult& c) { return c.name == name; });
  return found == capture.channels.end() ? nullptr : &*found;
}

StoredRow row_of_verdict(StoredRow row, const CaptureResult& capture,
                         const Verdict& v) {
  row.clock = v.clock;
  row.channel = v.channel.value_or("");
  if (const ChannelResult* channel = find_channel(capture, row.channel)) {
    take_channel(*channel, row);
  }
  row.expected = v.expected_frequency;
  if (row.frequency) {
    row.error = v.error;
    row.expanded = v.expanded_uncertainty;
  }
  row.decision = decision_name(v.decision);
  return row;
}

}  // namespace

std::vector<StoredRow> rows_of(const Record& part, double taken_s) {
  std::vector<StoredRow> rows;
  for (const CaptureResult& capture : part.captures) {
    const StoredRow common = row_of_capture(part, capture, taken_s);
    for (const Verdict& v : part.verdicts) {
      if (v.capture == capture.path) {
        rows.push_back(row_of_verdict(common, capture, v));
      }
    }
    if (!part.verdicts.empty()) continue;
    for (const ChannelResult& channel : capture.channels) {
      if (!channel.budget || channel.is_reference) continue;
      StoredRow row = common;
      take_channel(channel, row);
      row.clock = channel.name;
      row.expanded = channel.budget->expanded_ppm;
      rows.push_back(std::move(row));
    }
  }
  return rows;
}

}  // namespace clockassay
