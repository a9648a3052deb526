// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <doctest/doctest.h>

#include <cstdint>
#include <string>
#include <utility>
#include <vector>

#include "support/read_text.h"

namespace clockassay::test {

/// The channels of a dump of which some are asked for by name. Read in pieces
/// of an odd size on threads it must give the same.
inline Capture read_dump(const std::string& path,
                         const std::vector<std::string>& channels = {}) {
  const std::string text = file_text(path);
  REQUIRE_MESSAGE(!text.empty(), "no dump at " << path);
  ReadOptions options;
  options.channels = channels;
  auto whole = read_text(text, options);
  INFO(described(whole));
  REQUIRE(whole);
  REQUIRE(described(read_text(text, options, {997, 3, 61})) ==
          described(whole));
  return std::move(*whole);
}

inline std::vector<PlainRun> runs_of(const Capture& capture,
                                     const std::string& name) {
  for (const ChannelRecord& c : capture.channels) {
    if (c.name == name) return plain_channel(c).runs;
  }
  FAIL("no channel " << name);
  return {};
}

/// `count` instants: first, first + step, …
inline std::vector<std::int64_t> comb(std::int64_t first, std::int64_t step,
                                      std::int64_t count) {
  std::vector<std::int64_t> times;
  for (std::int64_t i = 0; i < count; ++i) times.push_back(first + step * i);
  return times;
}

inline std::vector<std::int64_t> times(const PlainRun& run, Level level) {
  std::vector<std::int64_t> found;
  for (const LevelEvent& e : run.edges) {
    if (e.level == level) found.push_back(e.time.count());
  }
  return found;
}

}  // namespace clockassay::test
