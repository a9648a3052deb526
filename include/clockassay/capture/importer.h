// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "clockassay/base/rational.h"
#include "clockassay/base/result.h"
#include "clockassay/base/units.h"
#include "clockassay/base/warning.h"
#include "clockassay/capture/channel_stream.h"
#include "clockassay/capture/read_options.h"
#include "clockassay/capture/stamp_digits.h"
#include "clockassay/capture/time_grid.h"
#include "clockassay/capture/understanding.h"

namespace clockassay {

/// In which state of its grammar a piece begins or ends. `mode` is the
/// importer's own; 0 is the state every piece but a wrongly cut one begins in,
/// and then the other members are not used. A piece that begins in another
/// state is parsed again with the state the one before it ended in, so all it
/// must know about the bytes before it is here.
struct ParseState {
  int mode = 0;
  std::int64_t opened_byte = 0;    ///< where what is still open was opened
  Ticks time;                      ///< the last stamp
  std::vector<std::int64_t> held;  ///< the importer's own
  friend bool operator==(const ParseState&, const ParseState&) = default;
};

/// A channel that pieces deliver; see ChannelRecord.
struct SelectedChannel {
  std::string name;
  std::vector<std::string> asked;
  bool interpolated = false;  ///< see ChannelRecord
  /// Asked for, and not seen so far: if no level of it comes, it is missing.
  bool may_be_absent = false;
};

/// What the header of a capture says.
struct Layout {
  std::string format;
  TimeGrid grid;
  std::vector<std::string> channel_names;  ///< all that are declared
  std::vector<SelectedChannel> selected;   ///< those that pieces deliver
  std::vector<std::string> missing;        ///< see Capture::missing_channels
  bool rising_only = false;                ///< see ChannelRecord
  std::int64_t body_offset = 0;            ///< first byte that is not header
  ParseState entry;                        ///< in which the body begins
  std::vector<Warning> warnings;
  Understanding understanding;  ///< why it is read as it is
};

/// Samples that are not there between two rows of samples.
struct MissingSamples {
  Ticks from;  ///< from here to the later row no level is known
  std::int64_t count = 0;
};

/// Things counted while reading, for warnings; summed over pieces.
struct ReadCounts {
  std::int64_t undeclared_ids = 0;  ///< changes of ids no $var declares
  std::int64_t unusual_syntax = 0;  ///< tolerated departures from the grammar
  std::int64_t dump_off = 0;        ///< $dumpoff sections
  std::int64_t changes_while_off = 0;  ///< known levels from there to $dumpon
  bool truncated_end = false;          ///< the last record was cut off
  std::int64_t missing_samples = 0;
  std::int64_t sample_gaps = 0;    ///< places at which they are missing
  std::int64_t padding_bytes = 0;  ///< NULs at the end

  void add(const MissingSamples& missing) {
    missing_samples += missing.count;
    ++sample_gaps;
  }
  ReadCounts& operator+=(const ReadCounts& other) {
    undeclared_ids += other.undeclared_ids;
    unusual_syntax += other.unusual_syntax;
    dump_off += other.dump_off;
    changes_while_off += other.changes_while_off;
    truncated_end |= other.truncated_end;
    missing_samples += other.missing_samples;
    sample_gaps += other.sample_gaps;
    padding_bytes += other.padding_bytes;
    return *this;
  }
};

/// A piece of the body, parsed.
struct Piece {
  ParseState exit;
  bool has_time = false;
  Ticks first_time;
  Ticks last_time;
  std::int64_t first_time_byte = 0;  ///< file offset of the first stamp
  bool first_stamp_is_end = false;   ///< nothing follows it in the input
  std::int64_t text_resolution_ticks = 1;
  StampDigits stamp_digits;            ///< of decimal stamps; else empty
  std::vector<PieceChannel> channels;  ///< one per Layout::selected
  ReadCounts counts;
  std::optional<Error> error;  ///< the first in the piece; `byte` set,
                               ///< the reader adds the line
};

/// What is known of a channel only when the whole body was parsed.
struct ChannelClosing {
  Ticks longest_step;       ///< see ChannelRecord
  std::string never_turns;  ///< see ChannelRecord
};

/// What is known only when the whole body was parsed.
struct Closing {
  std::vector<ChannelClosing> channels;  ///< one per Layout::selected, or none
  std::vector<Warning> warnings;
};

/// Parses the pieces of one body. Made by an importer's read_header; has no
/// state, so that pieces can be parsed at the same time.
class PieceParser {
 public:
  virtual ~PieceParser() = default;
  virtual const Layout& layout() const = 0;
  /// First position at or after `from` (at least 1) at which a piece may
  /// begin, or npos. Looks at no more than the byte before the position and
  /// the two from it on, so that a longer input continues the search.
  virtual std::size_t find_cut(std::string_view bytes,
                               std::size_t from) const = 0;
  /// `offset` is the file offset of bytes[0]; `last`: the input ends here.
  virtual Piece parse(std::string_view bytes, std::int64_t offset,
                      ParseState entry, bool last) const = 0;
  /// Whether every piece needs the state the one before it ended in. Pieces are
  /// then parsed one after the other, instead of twice.
  virtual bool sequential() const { return false; }
  /// `exit` is the state the last piece ended in.
  virtual Closing close(const ParseState& exit) const {
    (void)exit;
    return {};
  }
  /// The error that the stamp `next` at file offset `byte` comes after the
  /// later stamp `before`; the same whether a cut lies between them or not.
  virtual Error time_order_error(Ticks before, Ticks next,
                                 std::int64_t byte) const;
  /// Why the stamp `next` may not follow `before`, whether a cut lies between
  /// them or not; nullopt when it may.
  virtual std::optional<Error> stamp_error(Ticks before, Ticks next,
                                           std::int64_t byte) const {
    if (next < before) return time_order_error(before, next, byte);
    return std::nullopt;
  }
  /// The samples that are not there between two stamps, whether a cut lies
  /// between them or not.
  virtual std::optional<MissingSamples> missing_samples(Ticks before,
                                                        Ticks next) const {
    (void)before;
    (void)next;
    return std::nullopt;
  }
};

/// One row of the table of importers, src/capture/importer_registry
struct Importer {
  const char* format;
  /// Whether content that begins like this is in the format.
  bool (*recognises)(std::string_view prefix);
  /// Reads the header from the beginning of the input; `whole`: the prefix is
  /// all there is. kBadData with the byte where it cannot be read; the reader
  /// adds the line. When the header does not end within the prefix and more
  /// may come, `needs_more` is set and the result does not count.
  Result<std::unique_ptr<PieceParser>> (*read_header)(
      std::string_view prefix, bool whole, const ReadOptions& options,
      bool& needs_more);
};

}  // namespace clockassay
