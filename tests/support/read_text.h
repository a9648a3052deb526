// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <algorithm>
#include <cstddef>
#include <fstream>
#include <iterator>
#include <string>
#include <string_view>
#include <thread>
#include <vector>

#include "clockassay/capture/capture_reader.h"
#include "support/run_edges.h"

namespace clockassay::test {

/// How a text reaches read_capture.
struct Feed {
  std::size_t piece_bytes = std::size_t{4} << 20;
  std::size_t jobs = 1;
  std::size_t most_at_once = std::string::npos;  ///< bytes the source hands out
  bool by_place = false;  ///< pieces are read where they are parsed
};

/// Hands out `text` in pieces of 1, 2, 3 … up to most_at_once bytes, then from
/// 1 again.
inline ByteSource source_of(std::string_view text, std::size_t most_at_once) {
  return [text, most_at_once, at = std::size_t{0}, step = std::size_t{0}](
             std::span<char> buffer) mutable -> Result<std::size_t> {
    step = most_at_once == std::string::npos ? most_at_once
           : step < most_at_once             ? step + 1
                                             : 1;
    const std::size_t n = std::min({buffer.size(), step, text.size() - at});
    std::copy_n(text.data() + at, n, buffer.data());
    at += n;
    return n;
  };
}

/// The same from any place, up to most_at_once bytes.
inline PlaceSource places_of(std::string_view text, std::size_t most_at_once) {
  return [text, most_at_once](std::int64_t offset,
                              std::span<char> buffer) -> Result<std::size_t> {
    const auto at = static_cast<std::size_t>(offset);
    if (at >= text.size()) return 0;
    const std::size_t n =
        std::min({buffer.size(), most_at_once, text.size() - at});
    std::copy_n(text.data() + at, n, buffer.data());
    return n;
  };
}

/// All at once, each on a thread of its own.
inline void threaded_for(std::size_t count,
                         const std::function<void(std::size_t)>& task) {
  std::vector<std::thread> threads;
  for (std::size_t i = 0; i < count; ++i) threads.emplace_back(task, i);
  for (std::thread& t : threads) t.join();
}

inline Result<Capture> read_text(std::string_view text,
                                 const ReadOptions& options = {},
                                 const Feed& feed = {}) {
  const ParallelFor parallel =
      feed.jobs > 1 ? ParallelFor(threaded_for) : ParallelFor(serial_for);
  if (feed.by_place) {
    return read_capture(places_of(text, feed.most_at_once), options,
                        {feed.piece_bytes, feed.jobs}, parallel);
  }
  return read_capture(source_of(text, feed.most_at_once), options,
                      {feed.piece_bytes, feed.jobs}, parallel);
}

/// Everything a reading gives, written out so that two can be compared and a
/// difference be read.
inline std::string described(const Result<Capture>& result) {
  if (!result) {
    const Error& e = result.error();
    return std::string("error ") + error_code_name(e.code) + " line " +
           (e.line ? std::to_string(*e.line) : "?") + " byte " +
           (e.byte ? std::to_string(*e.byte) : "?") + ": " + e.message + " (" +
           e.hint + ")";
  }
  std::string text = result->format + " " + std::to_string(result->bytes) +
                     " bytes, tick " + result->grid.tick_s.to_string() +
                     " resolution " +
                     std::to_string(result->grid.text_resolution_ticks) + ", " +
                     std::to_string(result->first_stamp.count()) + " to " +
                     std::to_string(result->last_stamp.count()) + ", origin " +
                     result->origin + "\n";
  for (const ChannelRecord& record : result->channels) {
    const PlainChannel c = plain_channel(record);
    text += c.name + ": " + std::to_string(c.zero_width_pulses) + " pulses, " +
            std::to_string(c.unknown_stretches) + " unknown\n";
    for (const PlainRun& run : c.runs) {
      text += "  [" + std::to_string(run.known_from) + " " +
              std::to_string(run.known_to) + "]";
      for (const LevelEvent& e : run.edges) {
        text += (e.level == Level::kHigh ? " r" : " f") +
                std::to_string(e.time.count());
      }
      text += "\n";
    }
  }
  for (const Warning& w : result->warnings) {
    text += std::string(warning_info(w.code).name) + ": " + w.message + "\n";
  }
  return text;
}

inline std::string file_text(const std::string& path) {
  std::ifstream file(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(file), {}};
}

}  // namespace clockassay::test
