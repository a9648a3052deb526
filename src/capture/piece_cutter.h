// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include "clockassay/base/result.h"
#include "clockassay/capture/capture_reader.h"
#include "clockassay/capture/importer.h"

namespace clockassay {

/// What is read beyond a grid line to find a place to cut [bytes]. Chosen: many
/// records of any format.
inline constexpr std::size_t kLookAhead = 4096;

/// The longest piece beyond its grid line [bytes]: a comment or line without an
/// end would fill the memory. Chosen: as of a header.
inline constexpr std::size_t kLongestUncut = std::size_t{64} << 20;

/// That there is no place to cut so far behind a byte of the input.
Error no_place_to_cut(std::int64_t byte);

/// Bytes of a body between two cuts.
struct RawPiece {
  std::string bytes;
  std::int64_t offset = 0;  ///< in the file
  bool last = false;        ///< the input ends with it
};

/// Cuts the input into pieces at the first possible place at or after each
/// line of a grid of file offsets. What the source hands out at a time has no
/// influence on the cuts. A piece without a place to cut is as long as it is,
/// up to kLongestUncut.
class PieceCutter {
 public:
  /// `source` must outlive the cutter; piece_bytes at least 1.
  PieceCutter(const ByteSource& source, std::size_t piece_bytes)
      : source_(&source), piece_bytes_(piece_bytes) {}

  /// The first `size` bytes, fewer only when the input has no more. Before the
  /// first piece is taken.
  Result<std::string_view> prefix(std::size_t size);
  /// Whether all that was read so far is all there is.
  bool at_end() const { return at_end_; }
  /// Pieces begin here; at most what prefix() has shown.
  void skip(std::size_t bytes);
  /// The next piece; nullopt at the end.
  Result<std::optional<RawPiece>> next(const PieceParser& parser);

 private:
  Result<void> fill(std::size_t size);
  std::string_view ahead() const {
    return std::string_view(buffer_).substr(begin_);
  }
  RawPiece take(std::size_t size);

  const ByteSource* source_;
  std::size_t piece_bytes_;
  std::string buffer_;
  std::size_t begin_ = 0;    // of what is still to be cut, in buffer_
  std::int64_t offset_ = 0;  // of that, in the file
  bool at_end_ = false;
};

}  // namespace clockassay
