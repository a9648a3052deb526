// SPDX-License-Identifier: GPL-3.0-or-later
// same_reading [OPTION...] FILE
// Reads a capture, with the options of the program, in every way the library
// has: by each kernel of the processor, in pieces from a byte on, by 1 to 4
// threads, from a source that is read in order and from one read by place. All
// of them must give the same records, down to how cycles are grouped into
// blocks. Exits with 1 and the first two ways that differ.
#include <cstdio>
#include <string>
#include <utility>
#include <vector>

#include "app/thread_pool.h"
#include "base/simd_level.h"
#include "support/capture_options.h"
#include "support/read_text.h"
#include "support/reading_oracle.h"
#include "support/simd_levels.h"

namespace clockassay {
namespace {

struct Way {
  SimdLevel kernels;
  test::Feed feed;
};

// Pieces of a record each, where there is nothing to be taken at once, and
// about as long as vectors: by each kernel, and by each number of threads and
// feed.
void add_short_pieces(std::vector<Way>& ways) {
  std::size_t turn = 0;
  for (const std::size_t piece_bytes : {1U, 2U, 3U, 17U, 63U, 64U, 65U, 127U}) {
    for (const SimdLevel kernels : test::simd_levels()) {
      ways.push_back(
          {kernels, {piece_bytes, 1 + turn % 4, 65'536, turn / 4 % 2 == 0}});
      ++turn;
    }
  }
}

// From pieces of some hundred records over the program's own to the whole.
std::vector<Way> all_ways(std::size_t text_bytes) {
  constexpr std::size_t kManyRecords = 1'000'000;  // chosen: seconds
  const std::size_t sizes[] = {4'000, 30'011, 131'072, text_bytes + 1};
  std::vector<Way> ways;
  for (const SimdLevel kernels : test::simd_levels()) {
    for (const std::size_t piece_bytes : sizes) {
      for (const std::size_t jobs : {1U, 2U, 3U, 4U}) {
        for (const bool by_place : {false, true}) {
          ways.push_back({kernels, {piece_bytes, jobs, 65'536, by_place}});
        }
      }
    }
  }
  if (text_bytes < kManyRecords) add_short_pieces(ways);
  return ways;
}

std::string words_of(const Way& way) {
  return std::string(simd_level_name(way.kernels)) + ", pieces of " +
         std::to_string(way.feed.piece_bytes) + " bytes, " +
         std::to_string(way.feed.jobs) + " jobs, " +
         (way.feed.by_place ? "by place" : "in order");
}

std::string blocks_of(const Result<Capture>& capture) {
  std::string text;
  if (!capture) return text;
  for (const ChannelRecord& channel : capture->channels) {
    for (const EdgeRun& run : channel.runs) {
      text += "run";
      for (const CycleBlock& block : run.blocks) {
        text += " " + std::to_string(block.first.count()) + "+" +
                std::to_string(block.count);
      }
      text += "\n";
    }
  }
  return text;
}

std::string read(const Way& way, const std::string& text,
                 const ReadOptions& options) {
  ThreadPool pool(way.feed.jobs);
  const ParallelFor parallel_for =
      [&pool](std::size_t count, const std::function<void(std::size_t)>& task) {
        pool.run(count, task);
      };
  limit_simd_level(way.kernels);
  const PieceOptions pieces{way.feed.piece_bytes, way.feed.jobs};
  const std::size_t most = way.feed.most_at_once;
  const auto capture = way.feed.by_place
                           ? read_capture(test::places_of(text, most), options,
                                          pieces, parallel_for)
                           : read_capture(test::source_of(text, most), options,
                                          pieces, parallel_for);
  return test::all_facts(capture) + blocks_of(capture);
}

std::string line_at(const std::string& text, std::size_t at) {
  const std::size_t begin = at < 40 ? 0 : at - 40;
  return at < text.size() ? text.substr(begin, 100) : "(the end)";
}

int run(std::vector<std::string> args) {
  if (args.empty()) return 64;
  const std::string text = test::file_text(args.back());
  args.pop_back();
  const auto options = test::capture_options(args);
  if (!options || text.empty()) return 64;
  const std::vector<Way> ways = all_ways(text.size());
  const std::string expected = read(ways[0], text, *options);
  if (expected.starts_with("error")) {
    std::printf("%s\n", expected.c_str());
    return 1;
  }
  for (const Way& way : ways) {
    const std::string found = read(way, text, *options);
    if (found == expected) continue;
    const auto at =
        static_cast<std::size_t>(std::mismatch(found.begin(), found.end(),
                                               expected.begin(), expected.end())
                                     .first -
                                 found.begin());
    std::printf("%s:\n  %s\n%s:\n  %s\n", words_of(ways[0]).c_str(),
                line_at(expected, at).c_str(), words_of(way).c_str(),
                line_at(found, at).c_str());
    return 1;
  }
  return 0;
}

}  // namespace
}  // namespace clockassay

int main(int count, char** values) {
  return clockassay::run({values + 1, values + count});
}
