// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <functional>
#include <memory>
#include <string_view>

#include "clockassay/base/result.h"
#include "clockassay/capture/capture_reader.h"
#include "clockassay/capture/importer.h"

namespace clockassay {

/// A piece before it is parsed.
struct FedPiece {
  std::string_view bytes;
  std::int64_t offset = 0;  ///< in the input
  bool last = false;        ///< the input ends with it
};

/// Hands out what an input begins with, then its pieces, batch after batch. The
/// pieces do not depend on who feeds them: each begins at the first place to
/// cut at or after a line of the grid.
class PieceFeed {
 public:
  using Use = std::function<void(const FedPiece&)>;

  virtual ~PieceFeed() = default;
  /// The first `size` bytes, fewer only when the input has no more. Before
  /// begin().
  virtual Result<std::string_view> prefix(std::size_t size) = 0;
  /// Whether all that prefix() has shown is all there is.
  virtual bool at_end() const = 0;
  /// The first piece begins at `body`, which prefix() has shown.
  virtual void begin(const PieceParser& parser, std::size_t body) = 0;
  /// Goes on to the next batch: how many places for pieces it has, at most
  /// `most`; 0 at the end of the input.
  virtual Result<std::size_t> next_batch(std::size_t most) = 0;
  /// Calls `use` with the piece at place i, if there is one; for several places
  /// at once, and again if need be, until the next batch.
  virtual Result<void> with_piece(std::size_t i, const Use& use) = 0;
  /// Line ends before `byte`, which is in the batch at hand, or its end.
  virtual Result<std::int64_t> lines_before(std::int64_t byte) = 0;
};

/// `source` must outlive the feed; piece_bytes at least 1.
std::unique_ptr<PieceFeed> feed_in_order(const ByteSource& source,
                                         std::size_t piece_bytes);
/// The same where any place can be read: pieces are read by whoever uses them,
/// and lines counted only when asked for.
std::unique_ptr<PieceFeed> feed_by_place(const PlaceSource& source,
                                         std::size_t piece_bytes);

}  // namespace clockassay
