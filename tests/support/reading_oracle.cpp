// SPDX-License-Identifier: GPL-3.0-or-later
#include "support/reading_oracle.h"

#include <algorithm>

#include "support/simd_levels.h"

namespace clockassay::test {
namespace {

std::string rational_text(const std::optional<Rational>& value) {
  return value ? value->to_string() : "none";
}

std::string joined(const std::vector<std::string>& texts) {
  std::string result;
  for (const std::string& text : texts) result += " <" + text + ">";
  return result;
}

std::string understood(const Understanding& understanding) {
  std::string text;
  for (const ReadingFact& fact : understanding.facts) {
    text += "fact" + joined({fact.topic, fact.found, fact.because}) + "\n";
  }
  for (const RecordAsRead& record : understanding.first_records) {
    text += "record " + std::to_string(record.line) +
            joined({record.text, record.time_s}) + joined(record.values) + "\n";
  }
  return text;
}

// Control bytes: they could move the cursor of a terminal or end a line.
bool is_printable(std::string_view text) {
  return std::none_of(text.begin(), text.end(), [](char c) {
    const auto byte = static_cast<unsigned char>(c);
    return byte < 0x20 || byte == 0x7F;
  });
}

std::optional<std::string> broken_promise(const Error& error) {
  if (error.message.empty()) return "an error without a message";
  if (!is_printable(error.message) || !is_printable(error.hint)) {
    return "an error that cannot be printed: " + error.message;
  }
  if (error.code == ErrorCode::kInternal) {
    return "an internal error: " + error.message;
  }
  bool has_place = error.byte && error.line;
  // What was asked for and cannot be had need not have a place in the file.
  for (const char* asked :
       {"found no channel", "found channel", "found no bit", "found the bit"}) {
    has_place |= error.message.starts_with(asked);
  }
  if (error.code == ErrorCode::kBadData && !has_place) {
    return "an error without a place: " + error.message;
  }
  return std::nullopt;
}

// `packing`: falling edges mean nothing and may lie before everything.
std::optional<std::string> broken_promise(const PlainRun& run, Ticks earliest,
                                          Ticks latest, bool packing) {
  const auto at = [](std::int64_t time) {
    return " at " + std::to_string(time);
  };
  if (run.known_from > run.known_to) {
    return "a run that ends before it begins" + at(run.known_from);
  }
  if (run.known_from < earliest.count() || run.known_to > latest.count()) {
    return "a run outside the capture" + at(run.known_from);
  }
  const LevelEvent* before = nullptr;
  for (const LevelEvent& edge : run.edges) {
    const std::int64_t time = edge.time.count();
    if (before != nullptr && before->level == edge.level) {
      return "two edges of one kind" + at(time);
    }
    if (before != nullptr && before->time >= edge.time) {
      return "edges that do not increase" + at(time);
    }
    const bool means_nothing = packing && edge.level == Level::kLow;
    if (!means_nothing && (time < run.known_from || time > run.known_to)) {
      return "an edge outside its run" + at(time);
    }
    before = &edge;
  }
  return std::nullopt;
}

}  // namespace

std::string all_facts(const Result<Capture>& result) {
  std::string text = described(result);
  if (!result) return text;
  text += "sampling " + rational_text(result->grid.sample_interval_s) + " " +
          sample_interval_source_name(result->grid.source) + "\n";
  text += "names" + joined(result->channel_names) + " missing" +
          joined(result->missing_channels) + "\n";
  for (const ChannelRecord& channel : result->channels) {
    text += "channel" + joined(channel.asked) +
            (channel.rising_only ? " rising only" : "") +
            (channel.interpolated ? " interpolated" : "") + "\n";
  }
  for (const Warning& warning : result->warnings) {
    text += "warning " + warning.message + "\n";
  }
  return text + understood(result->understanding);
}

std::optional<std::string> broken_promise(const Result<Capture>& result) {
  if (!result) return broken_promise(result.error());
  if (result->first_stamp > result->last_stamp) {
    return "a capture that ends before it begins";
  }
  for (const Warning& warning : result->warnings) {
    if (warning.message.empty()) return "a warning without a message";
  }
  for (const ChannelRecord& record : result->channels) {
    // Where every row is an edge, the level before the first one lies a tick
    // before it.
    const Ticks earliest = result->first_stamp - Ticks(1);
    std::int64_t known_before = earliest.count();
    for (const PlainRun& run : plain_channel(record).runs) {
      if (run.known_from < known_before) return "runs that overlap";
      auto fault =
          broken_promise(run, earliest, result->last_stamp, record.rising_only);
      if (fault) return *fault + " on " + record.name;
      known_before = run.known_to;
    }
  }
  return std::nullopt;
}

namespace {

// The best level is that of `expected`.
std::optional<std::string> of_levels(std::string_view text,
                                     const ReadOptions& options,
                                     const std::string& expected) {
  std::optional<std::string> fault;
  const SimdLevel best = simd_level();
  at_each_simd_level([&] {
    if (fault || simd_level() == best) return;
    const std::string found = all_facts(read_text(text, options));
    if (found == expected) return;
    fault = std::string("another result by instructions of ") +
            simd_level_name(simd_level()) + ":\n" + found +
            "where by those of " + simd_level_name(best) + " it is:\n" +
            expected;
  });
  return fault;
}

}  // namespace

std::optional<std::string> reading_fault(std::string_view text,
                                         const ReadOptions& options,
                                         const Feed& feed) {
  const Result<Capture> whole = read_text(text, options);
  if (auto fault = broken_promise(whole)) return fault;
  const std::string expected = all_facts(whole);
  const std::string found = all_facts(read_text(text, options, feed));
  if (found == expected) return of_levels(text, options, expected);
  return "another result in pieces of " + std::to_string(feed.piece_bytes) +
         " bytes, " + std::to_string(feed.jobs) + " at once, fed " +
         std::to_string(feed.most_at_once) + " at most:\n" + found +
         "where in one piece it is:\n" + expected;
}

}  // namespace clockassay::test
