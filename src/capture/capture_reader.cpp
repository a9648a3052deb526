// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/capture/capture_reader.h"

#include <algorithm>
#include <cassert>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "capture/content_check.h"
#include "capture/exact_seconds.h"
#include "capture/importer_registry.h"
#include "capture/line_ends.h"
#include "capture/piece_feed.h"
#include "capture/shown_text.h"

namespace clockassay {
namespace {

// First look at the input [bytes]. Chosen: most headers are shorter. A fixed
// number, so that what a format makes of it does not depend on the source.
constexpr std::size_t kFirstPrefix = std::size_t{64} << 10;
// Longest header [bytes]. Chosen: a million variables fit.
constexpr std::size_t kLongestHeader = std::size_t{64} << 20;

tl::unexpected<Error> fail(Error error) {
  return tl::unexpected<Error>(std::move(error));
}

// Fills in the line of an error in `text`, which begins at file offset
// `offset`, after `lines_before` line ends.
Error with_line(Error error, std::string_view text, std::int64_t offset,
                std::int64_t lines_before) {
  if (!error.byte || error.line) return error;
  assert(*error.byte >= offset);
  const auto place = static_cast<std::size_t>(*error.byte - offset);
  error.line = 1 + lines_before + count_line_ends(text.substr(0, place));
  return error;
}

std::string known_formats() {
  std::string text;
  for (const Importer& importer : importers()) {
    text += (text.empty() ? "" : ", ") + std::string(importer.format);
  }
  return text;
}

Result<const Importer*> choose_importer(std::string_view prefix,
                                        const std::string& format) {
  for (const Importer& importer : importers()) {
    const bool chosen = format.empty() ? importer.recognises(prefix)
                                       : format == importer.format;
    if (chosen) return &importer;
  }
  if (!format.empty()) {
    return failure(
        ErrorCode::kUsage,
        "found format " + shown_text(format) + ", there are " + known_formats(),
        "leave the format out: it is recognised by content");
  }
  Error error{ErrorCode::kBadData,
              "found " + shown_text(prefix) +
                  " at the beginning, expected a capture in a known format (" +
                  known_formats() + ")",
              "if it is one, say which with --format"};
  error.byte = 0;
  return fail(std::move(error));
}

using Parser = std::unique_ptr<PieceParser>;

Result<Parser> read_header(PieceFeed& feed, const ReadOptions& options) {
  for (std::size_t size = kFirstPrefix;; size *= 2) {
    const Result<std::string_view> prefix = feed.prefix(size);
    if (!prefix) return fail(prefix.error());
    const bool whole = feed.at_end() && prefix->size() < size;
    if (auto error = refuse_content(*prefix, whole)) {
      return fail(with_line(std::move(*error), *prefix, 0, 0));
    }
    const auto importer =
        choose_importer(prefix->substr(0, kFirstPrefix), options.format);
    if (!importer) return fail(with_line(importer.error(), *prefix, 0, 0));
    bool needs_more = false;
    Result<Parser> parser =
        (*importer)->read_header(*prefix, whole, options, needs_more);
    if (needs_more && size >= kLongestHeader) {
      Error error{ErrorCode::kBadData,
                  "found no end of the header within " +
                      std::to_string(kLongestHeader) + " bytes",
                  "a damaged file must be recorded again"};
      error.byte = static_cast<std::int64_t>(size);
      return fail(std::move(error));
    }
    if (needs_more) {
      assert(!whole);
      continue;
    }
    if (!parser) return fail(with_line(parser.error(), *prefix, 0, 0));
    return parser;
  }
}

// Joins pieces in file order.
class Assembly {
 public:
  explicit Assembly(const PieceParser& parser)
      : parser_(&parser), exit_(parser.layout().entry) {
    for (std::size_t i = 0; i < parser.layout().selected.size(); ++i) {
      joiners_.emplace_back(arena_);
    }
  }

  /// In which state the next piece begins.
  ParseState next_entry() const { return exit_; }
  std::optional<Error> append(const Piece& piece);
  Capture finish() &&;
  bool has_time() const { return first_.has_value(); }

 private:
  // Nothing is known where samples are missing before the stamp `next`.
  void take_gap(Ticks next);

  const PieceParser* parser_;
  Arena arena_;
  std::vector<ChannelJoiner> joiners_;
  ParseState exit_;
  std::optional<Ticks> first_;
  Ticks last_;
  std::int64_t text_resolution_ = 1;
  StampDigits stamp_digits_;
  ReadCounts counts_;
};

std::optional<Error> Assembly::append(const Piece& piece) {
  if (piece.has_time && first_) {
    auto error =
        parser_->stamp_error(last_, piece.first_time, piece.first_time_byte);
    if (error && !piece.first_stamp_is_end) return error;
    if (error) {
      // The stamp was cut, and it is all there is: a piece that did not begin
      // with it would have known the time before it and left it out itself.
      counts_.truncated_end = true;
      return std::nullopt;
    }
  }
  if (piece.error) return piece.error;
  exit_ = piece.exit;
  if (piece.has_time) {
    if (first_) take_gap(piece.first_time);
    if (!first_) first_ = piece.first_time;
    last_ = piece.last_time;
  }
  text_resolution_ = std::max(text_resolution_, piece.text_resolution_ticks);
  stamp_digits_.merge(piece.stamp_digits);
  counts_ += piece.counts;
  assert(piece.channels.size() == joiners_.size());
  for (std::size_t i = 0; i < joiners_.size(); ++i) {
    joiners_[i].append(piece.channels[i]);
  }
  return std::nullopt;
}

void Assembly::take_gap(Ticks next) {
  const auto missing = parser_->missing_samples(last_, next);
  if (!missing) return;
  counts_.add(*missing);
  PieceChannel gap;
  gap.items.push_back(LevelEvent{missing->from, Level::kUnknown});
  for (ChannelJoiner& joiner : joiners_) joiner.append(gap);
}

std::string counted(std::int64_t count, const char* one, const char* several) {
  return std::to_string(count) + " " + (count == 1 ? one : several);
}

std::string left_out_while_off(std::int64_t changes) {
  if (changes == 0) return {};
  return ", so " + counted(changes, "value change", "value changes") +
         " before that " + (changes == 1 ? "was" : "were") + " left out";
}

void warn_of(const ReadCounts& counts, std::vector<Warning>& warnings) {
  if (counts.undeclared_ids > 0) {
    warnings.push_back(
        {WarningCode::kUndeclaredIds,
         "left out " +
             counted(counts.undeclared_ids, "value change", "value changes") +
             " of signals the header does not declare"});
  }
  if (counts.unusual_syntax > 0) {
    warnings.push_back(
        {WarningCode::kUnusualSyntax,
         "tolerated " +
             counted(counts.unusual_syntax, "departure", "departures") +
             " from the grammar of the format"});
  }
  if (counts.dump_off > 0) {
    warnings.push_back({WarningCode::kUnknownLevels,
                        "dumping was switched off " +
                            counted(counts.dump_off, "time", "times") +
                            "; nothing is known until it goes on" +
                            left_out_while_off(counts.changes_while_off)});
  }
  if (counts.missing_samples > 0) {
    warnings.push_back(
        {WarningCode::kSamplesMissing,
         counted(counts.missing_samples, "sample is", "samples are") +
             " missing between the rows, in " +
             counted(counts.sample_gaps, "place", "places") +
             "; no level is known there, and no period is taken across"});
  }
  if (counts.padding_bytes > 0) {
    warnings.push_back(
        {WarningCode::kUnusualSyntax,
         "left out " + counted(counts.padding_bytes, "NUL byte", "NUL bytes") +
             " at the end of the file"});
  }
  if (counts.truncated_end) {
    warnings.push_back({WarningCode::kTruncatedEnd,
                        "the last record of the file is incomplete and was "
                        "left out"});
  }
}

Capture Assembly::finish() && {
  const Layout& layout = parser_->layout();
  Closing closing = parser_->close(exit_);
  assert(closing.channels.empty() ||
         closing.channels.size() == joiners_.size());
  Capture capture;
  capture.format = layout.format;
  capture.grid = layout.grid;
  capture.grid.text_resolution_ticks =
      std::max({text_resolution_, stamp_digits_.resolution_ticks(),
                layout.grid.text_resolution_ticks});
  capture.first_stamp = *first_;
  capture.last_stamp = last_;
  capture.origin = exact_seconds(*first_, layout.grid.tick_s);
  for (std::size_t i = 0; i < joiners_.size(); ++i) {
    const SelectedChannel& selected = layout.selected[i];
    ChannelRecord record = joiners_[i].finish(selected.name, last_);
    record.asked = selected.asked;
    record.interpolated = selected.interpolated;
    if (!closing.channels.empty()) {
      record.longest_step = closing.channels[i].longest_step;
      record.never_turns = std::move(closing.channels[i].never_turns);
    }
    record.rising_only = layout.rising_only;
    capture.channels.push_back(std::move(record));
  }
  capture.channel_names = layout.channel_names;
  capture.missing_channels = layout.missing;
  capture.warnings = layout.warnings;
  capture.understanding = layout.understanding;
  warn_of(counts_, capture.warnings);
  for (Warning& warning : closing.warnings) {
    capture.warnings.push_back(std::move(warning));
  }
  capture.arenas.push_back(std::move(arena_));
  return capture;
}

// A piece with what came of it.
struct ParsedPiece {
  bool is_there = false;
  std::int64_t end = 0;  // file offset
  bool last = false;
  Piece piece;
  std::optional<Error> trouble;  // it could not be read
};

class Reading {
 public:
  Reading(PieceFeed& feed, const PieceParser& parser)
      : feed_(feed), parser_(parser), assembly_(parser) {}

  // The next batch of up to `most` pieces; false at the end.
  Result<bool> go_on(std::size_t most, const ParallelFor& parallel_for);
  Assembly& assembly() { return assembly_; }
  std::int64_t end() const { return end_; }

 private:
  void parse(std::size_t place, ParseState entry, ParsedPiece& into) const;
  std::optional<Error> append(std::size_t place, bool is_first,
                              ParsedPiece& parsed);
  Error with_line(Error error);

  PieceFeed& feed_;
  const PieceParser& parser_;
  Assembly assembly_;
  std::int64_t end_ = 0;
};

void Reading::parse(std::size_t place, ParseState entry,
                    ParsedPiece& into) const {
  const auto done = feed_.with_piece(place, [&](const FedPiece& fed) {
    into.piece =
        parser_.parse(fed.bytes, fed.offset, std::move(entry), fed.last);
    into.is_there = true;
    into.end = fed.offset + static_cast<std::int64_t>(fed.bytes.size());
    into.last = fed.last;
  });
  if (!done) into.trouble = done.error();
}

Error Reading::with_line(Error error) {
  if (!error.byte || error.line) return error;
  const auto lines = feed_.lines_before(*error.byte);
  if (lines) error.line = 1 + *lines;
  return error;
}

std::optional<Error> Reading::append(std::size_t place, bool is_first,
                                     ParsedPiece& parsed) {
  const ParseState entry = assembly_.next_entry();
  const bool is_again = !is_first && entry != ParseState();
  if (parsed.is_there && is_again && !parser_.sequential()) {
    parse(place, entry, parsed);
  }
  if (parsed.trouble) return parsed.trouble;
  if (!parsed.is_there) return std::nullopt;
  end_ = parsed.end;
  auto error = assembly_.append(parsed.piece);
  if (error) return with_line(std::move(*error));
  return std::nullopt;
}

// Parses a batch at once, assuming that each piece but the first begins in
// state 0, and appends the pieces in order, those again whose state was wrong.
// Where the state is sure to be wrong, they are parsed in order to begin with.
Result<bool> Reading::go_on(std::size_t most, const ParallelFor& parallel_for) {
  const auto places = feed_.next_batch(most);
  if (!places) return fail(places.error());
  std::vector<ParsedPiece> batch(*places);
  const ParseState first_entry = assembly_.next_entry();
  if (!parser_.sequential()) {
    parallel_for(batch.size(), [&](std::size_t i) {
      parse(i, i == 0 ? first_entry : ParseState(), batch[i]);
    });
  }
  for (std::size_t i = 0; i < batch.size(); ++i) {
    if (parser_.sequential()) parse(i, assembly_.next_entry(), batch[i]);
    // The first that is there, whatever its place, began in the right state.
    const bool is_first = i == 0;
    if (auto error = append(i, is_first, batch[i])) return fail(*error);
    if (batch[i].last) return false;
  }
  return !batch.empty();
}

Error nothing_to_measure(std::int64_t bytes, std::int64_t lines) {
  Error error{ErrorCode::kBadData,
              "found the end of the file after the header, expected values "
              "with times",
              "record the capture again"};
  error.byte = bytes;
  error.line = 1 + lines;
  return error;
}

// Channels asked for that never came: they are missing.
std::optional<Error> drop_absent(const Layout& layout, bool may_be_missing,
                                 Capture& capture) {
  for (std::size_t i = layout.selected.size(); i-- > 0;) {
    const SelectedChannel& selected = layout.selected[i];
    if (!selected.may_be_absent || !capture.channels[i].runs.empty()) continue;
    if (!may_be_missing) {
      return Error{
          ErrorCode::kBadData,
          "found no level of the channel " + shown_text(selected.name) +
              " in any row, expected one as asked for",
          "check its name: a channel that does not come in the first rows must "
          "be asked for by its whole name, and by no bit"};
    }
    capture.missing_channels.insert(capture.missing_channels.end(),
                                    selected.asked.begin(),
                                    selected.asked.end());
    std::erase(capture.channel_names, selected.name);
    capture.channels.erase(capture.channels.begin() +
                           static_cast<std::ptrdiff_t>(i));
  }
  return std::nullopt;
}

// Pieces of a batch for every processor. Chosen: enough that none waits long
// for the last, and little memory.
constexpr std::size_t kPiecesPerJob = 4;

Result<Capture> read(PieceFeed& feed, const ReadOptions& options,
                     const PieceOptions& pieces,
                     const ParallelFor& parallel_for) {
  const Result<Parser> parser = read_header(feed, options);
  if (!parser) return fail(parser.error());
  const Layout& layout = (*parser)->layout();
  if (options.header_understood) {
    options.header_understood(layout.understanding);
  }
  const auto header_size = static_cast<std::size_t>(layout.body_offset);
  feed.begin(**parser, header_size);
  Reading reading(feed, **parser);
  const std::size_t most = pieces.jobs > 1 ? kPiecesPerJob * pieces.jobs : 1;
  bool more = true;
  while (more) {
    const auto went_on = reading.go_on(most, parallel_for);
    if (!went_on) return fail(went_on.error());
    more = *went_on;
  }
  const std::int64_t bytes = std::max(reading.end(), layout.body_offset);
  if (!reading.assembly().has_time()) {
    const auto lines = feed.lines_before(bytes);
    return fail(nothing_to_measure(bytes, lines.value_or(0)));
  }
  Capture capture = std::move(reading.assembly()).finish();
  auto absent = drop_absent(layout, options.skip_missing_channels, capture);
  if (absent) return fail(std::move(*absent));
  capture.bytes = bytes;
  return capture;
}

}  // namespace

Result<Capture> read_capture(const ByteSource& source,
                             const ReadOptions& options,
                             const PieceOptions& pieces,
                             const ParallelFor& parallel_for) {
  const auto feed =
      feed_in_order(source, std::max<std::size_t>(pieces.piece_bytes, 1));
  return read(*feed, options, pieces, parallel_for);
}

Result<Capture> read_capture(const PlaceSource& source,
                             const ReadOptions& options,
                             const PieceOptions& pieces,
                             const ParallelFor& parallel_for) {
  const auto feed =
      feed_by_place(source, std::max<std::size_t>(pieces.piece_bytes, 1));
  return read(*feed, options, pieces, parallel_for);
}

}  // namespace clockassay
