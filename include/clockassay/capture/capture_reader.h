// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <functional>
#include <span>

#include "clockassay/base/parallel.h"
#include "clockassay/base/result.h"
#include "clockassay/capture/capture.h"
#include "clockassay/capture/importer.h"

namespace clockassay {

/// Fills a buffer from the front and says how many bytes it put there; 0 at
/// the end of input. Any smaller number than asked is fine.
using ByteSource = std::function<Result<std::size_t>(std::span<char> buffer)>;

/// The same from any place on [bytes], and for several at once; 0 only where
/// the input has no more.
using PlaceSource = std::function<Result<std::size_t>(std::int64_t offset,
                                                      std::span<char> buffer)>;

struct PieceOptions {
  /// Distance of the grid on which pieces are cut [bytes of text]. Chosen:
  /// long against the cost of a piece, and stays in the cache of a processor.
  /// Results do not depend on it.
  std::size_t piece_bytes = std::size_t{128} << 10;
  /// Pieces parsed at once.
  std::size_t jobs = 1;
};

/// Reads a whole capture, piece by piece, and joins the pieces. The only place
/// that knows about cuts: if a piece ends in another state than the next one
/// assumed, the next one is parsed again; the first error in file order wins.
/// Errors: kBadData with line and byte, found, expected; what the source says.
/// Cost:   O(bytes) time; memory about a byte an edge plus jobs pieces.
Result<Capture> read_capture(const ByteSource& source,
                             const ReadOptions& options,
                             const PieceOptions& pieces,
                             const ParallelFor& parallel_for);
/// The same; pieces are then read where they are parsed.
Result<Capture> read_capture(const PlaceSource& source,
                             const ReadOptions& options,
                             const PieceOptions& pieces,
                             const ParallelFor& parallel_for);

}  // namespace clockassay
