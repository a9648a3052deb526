// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/piece_cutter.h"

#include <algorithm>
#include <cassert>
#include <string>
#include <utility>

namespace clockassay {

Error no_place_to_cut(std::int64_t byte) {
  Error error{ErrorCode::kBadData,
              "found no end of a line or a statement within " +
                  std::to_string(kLongestUncut) +
                  " bytes, expected shorter ones",
              "a damaged file must be recorded again"};
  error.byte = byte;
  return error;
}

Result<std::string_view> PieceCutter::prefix(std::size_t size) {
  if (auto filled = fill(size); !filled) {
    return tl::unexpected(std::move(filled.error()));
  }
  return ahead().substr(0, size);
}

void PieceCutter::skip(std::size_t bytes) {
  assert(bytes <= ahead().size());
  begin_ += bytes;
  offset_ += static_cast<std::int64_t>(bytes);
}

Result<std::optional<RawPiece>> PieceCutter::next(const PieceParser& parser) {
  const std::size_t into_cell =
      static_cast<std::size_t>(offset_) % piece_bytes_;
  std::size_t from = piece_bytes_ - into_cell;  // the next line of the grid
  const std::size_t most = from + kLongestUncut;
  std::size_t wanted = from + kLookAhead;
  while (true) {
    if (auto filled = fill(std::min(wanted, most + 1)); !filled) {
      return tl::unexpected(std::move(filled.error()));
    }
    const std::size_t size = ahead().size();
    if (from < size) {
      const std::size_t cut = parser.find_cut(ahead(), from);
      if (cut < size && cut <= most) return take(cut);
      from = std::max(from, size - 1);  // the last byte may be half of a place
    }
    if (size > most) return tl::unexpected(no_place_to_cut(offset_));
    if (at_end_) break;
    wanted = size + std::max(kLookAhead, size / 2);
  }
  if (ahead().empty()) return std::nullopt;
  RawPiece piece = take(ahead().size());
  piece.last = true;
  return piece;
}

Result<void> PieceCutter::fill(std::size_t size) {
  const std::size_t wanted = begin_ + size;
  std::size_t have = buffer_.size();
  if (at_end_ || have >= wanted) return {};
  buffer_.resize(wanted);
  while (have < wanted && !at_end_) {
    const auto got = (*source_)({buffer_.data() + have, wanted - have});
    if (!got) {
      buffer_.resize(have);
      return tl::unexpected(got.error());
    }
    at_end_ = *got == 0;
    have += *got;
  }
  buffer_.resize(have);
  return {};
}

RawPiece PieceCutter::take(std::size_t size) {
  RawPiece piece;
  piece.offset = offset_;
  offset_ += static_cast<std::int64_t>(size);
  if (begin_ == 0 && size > buffer_.size() / 2) {
    std::string rest = buffer_.substr(size);  // the shorter part is copied
    buffer_.resize(size);
    piece.bytes = std::exchange(buffer_, std::move(rest));
    return piece;
  }
  piece.bytes = buffer_.substr(begin_, size);
  begin_ += size;
  if (begin_ > buffer_.size() / 2) {
    buffer_.erase(0, begin_);
    begin_ = 0;
  }
  return piece;
}

}  // namespace clockassay
