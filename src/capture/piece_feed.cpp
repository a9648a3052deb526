// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/piece_feed.h"

#include <algorithm>
#include <atomic>
#include <cassert>
#include <cstdlib>
#include <mutex>
#include <new>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "capture/line_ends.h"
#include "capture/piece_cutter.h"

namespace clockassay {
namespace {

tl::unexpected<Error> fail(Error error) {
  return tl::unexpected<Error>(std::move(error));
}

class FeedInOrder final : public PieceFeed {
 public:
  FeedInOrder(const ByteSource& source, std::size_t piece_bytes)
      : cutter_(source, piece_bytes) {}

  Result<std::string_view> prefix(std::size_t size) override {
    return cutter_.prefix(size);
  }
  bool at_end() const override { return cutter_.at_end(); }

  void begin(const PieceParser& parser, std::size_t body) override {
    parser_ = &parser;
    lines_ = count_line_ends(*cutter_.prefix(body));
    cutter_.skip(body);
  }

  Result<std::size_t> next_batch(std::size_t most) override {
    for (const Counted& piece : batch_) lines_ += piece.line_ends;
    batch_.clear();
    if (failed_) return fail(*failed_);
    while (batch_.size() < most && !done_) {
      auto raw = cutter_.next(*parser_);
      if (!raw) failed_ = raw.error();
      done_ = !raw || !*raw || (*raw)->last;
      if (raw && *raw) batch_.push_back({std::move(**raw)});
    }
    if (batch_.empty() && failed_) return fail(*failed_);
    return batch_.size();
  }

  Result<void> with_piece(std::size_t i, const Use& use) override {
    Counted& piece = batch_[i];
    use({piece.raw.bytes, piece.raw.offset, piece.raw.last});
    if (!std::exchange(piece.counted, true)) {
      piece.line_ends = count_line_ends(piece.raw.bytes);
    }
    return {};
  }

  Result<std::int64_t> lines_before(std::int64_t byte) override {
    std::int64_t lines = lines_;
    for (const Counted& piece : batch_) {
      const std::int64_t into = byte - piece.raw.offset;
      if (into < static_cast<std::int64_t>(piece.raw.bytes.size())) {
        return lines +
               count_line_ends(
                   std::string_view(piece.raw.bytes)
                       .substr(0, static_cast<std::size_t>(
                                      std::max<std::int64_t>(0, into))));
      }
      lines += piece.line_ends;
    }
    return lines;
  }

 private:
  struct Counted {
    RawPiece raw;
    bool counted = false;
    std::int64_t line_ends = 0;
  };

  PieceCutter cutter_;
  const PieceParser* parser_ = nullptr;
  std::vector<Counted> batch_;
  std::int64_t lines_ = 0;  // before the batch
  std::optional<Error> failed_;
  bool done_ = false;
};

/// Part of an input, read into memory that grows without being cleared first.
/// Whole pages go to whole pages: a system that copies bytes by a processor's
/// own instruction for it is much faster then (docs/speed.md).
class Bytes {
 public:
  /// Starts anew, at a place of the input.
  void start_at(std::int64_t offset) {
    skipped_ = static_cast<std::size_t>(offset) % kPage;
    page_ = offset - static_cast<std::int64_t>(skipped_);
    size_ = 0;
  }
  /// What was read from that place on.
  std::string_view text() const {
    const std::size_t skipped = std::min(skipped_, size_);
    return {data_.get() + skipped, size_ - skipped};
  }
  /// Reads on until the text has `size` bytes or a few more; whether the input
  /// ended before.
  Result<bool> fill(const PlaceSource& source, std::size_t size) {
    const std::size_t wanted = (skipped_ + size + kPage - 1) / kPage * kPage;
    reserve(wanted);
    while (size_ < skipped_ + size) {
      const auto got = source(page_ + static_cast<std::int64_t>(size_),
                              {data_.get() + size_, wanted - size_});
      if (!got) return fail(got.error());
      if (*got == 0) return true;
      size_ += *got;
    }
    return false;
  }

 private:
  static constexpr std::size_t kPage = 4096;
  struct Free {
    void operator()(char* data) const { std::free(data); }
  };
  using Pages = std::unique_ptr<char[], Free>;

  void reserve(std::size_t size) {
    if (size <= capacity_) return;
    Pages larger(static_cast<char*>(std::aligned_alloc(kPage, size)));
    if (!larger) throw std::bad_alloc();
    std::copy_n(data_.get(), size_, larger.get());
    data_ = std::move(larger);
    capacity_ = size;
  }

  Pages data_;
  std::int64_t page_ = 0;    // of the input, with which the memory begins
  std::size_t skipped_ = 0;  // bytes of it that are not asked for
  std::size_t size_ = 0;
  std::size_t capacity_ = 0;
};

class FeedByPlace final : public PieceFeed {
 public:
  FeedByPlace(const PlaceSource& source, std::size_t piece_bytes)
      : source_(&source), piece_bytes_(piece_bytes) {}

  Result<std::string_view> prefix(std::size_t size) override {
    const auto ended = head_.fill(*source_, size);
    if (!ended) return fail(ended.error());
    head_is_all_ = *ended;
    return head_.text().substr(0, size);
  }
  bool at_end() const override { return head_is_all_; }

  void begin(const PieceParser& parser, std::size_t body) override {
    parser_ = &parser;
    body_ = body;
    next_cell_ = body / piece_bytes_;
    head_ = Bytes();
  }

  Result<std::size_t> next_batch(std::size_t most) override {
    first_cell_ = next_cell_;
    if (ended_) return 0;
    next_cell_ += most;
    return most;
  }

  Result<void> with_piece(std::size_t i, const Use& use) override {
    std::unique_ptr<Bytes> bytes = take_buffer();
    const auto done = feed_cell(first_cell_ + i, *bytes, use);
    give_back(std::move(bytes));
    return done;
  }

  Result<std::int64_t> lines_before(std::int64_t byte) override {
    std::int64_t lines = 0;
    Bytes bytes;
    // A CR and the LF after it are one end: cut behind an LF where there is
    // one.
    for (std::int64_t at = 0; at < byte;) {
      const auto size = static_cast<std::size_t>(
          std::min<std::int64_t>(byte - at, kCountedAtOnce));
      bytes.start_at(at);
      const auto ended = bytes.fill(*source_, size);
      if (!ended) return fail(ended.error());
      std::string_view text = bytes.text().substr(0, size);
      const std::size_t feed = text.rfind('\n');
      const bool whole = at + static_cast<std::int64_t>(text.size()) >= byte;
      if (!whole && feed != text.npos) {
        text = text.substr(0, feed + 1);
      } else if (!whole && text.size() > 1 && text.back() == '\r') {
        text.remove_suffix(1);
      }
      if (text.empty()) break;  // the input became shorter
      lines += count_line_ends(text);
      at += static_cast<std::int64_t>(text.size());
    }
    return lines;
  }

 private:
  static constexpr std::int64_t kCountedAtOnce = std::int64_t{1} << 20;

  // The piece that begins in a cell of the grid, if one does.
  Result<void> feed_cell(std::size_t cell, Bytes& bytes, const Use& use) {
    const bool is_first = cell == body_ / piece_bytes_;
    // One byte before, by which the place is known.
    const std::size_t start = is_first ? body_ : cell * piece_bytes_ - 1;
    const std::size_t line = (cell + 1) * piece_bytes_ - start;
    const std::size_t most = line + kLongestUncut;
    bytes.start_at(static_cast<std::int64_t>(start));
    std::size_t wanted = line + kLookAhead;
    std::size_t begin = 0;
    std::size_t from = std::max<std::size_t>(line, 1);
    bool begun = is_first;
    while (true) {
      const auto ended = bytes.fill(*source_, std::min(wanted, most + 1));
      if (!ended) return fail(ended.error());
      const std::string_view text = bytes.text();
      if (!begun) {
        begin = text.empty() ? text.npos : parser_->find_cut(text, 1);
        if (begin >= std::min(line, text.size())) {
          if (text.size() <= line) ended_ = true;
          return {};
        }
        begun = true;
      }
      const std::size_t cut =
          from < text.size() ? parser_->find_cut(text, from) : text.npos;
      const bool is_cut = cut < text.size() && cut <= most;
      if (!is_cut && text.size() > most) {
        return fail(no_place_to_cut(static_cast<std::int64_t>(start + begin)));
      }
      if (is_cut || *ended) {
        const std::size_t end = is_cut ? cut : text.size();
        if (!is_cut) ended_ = true;
        if (begin < end) {
          use({text.substr(begin, end - begin),
               static_cast<std::int64_t>(start + begin), !is_cut});
        }
        return {};
      }
      // The last byte may be half of a place.
      from = std::max(from, text.size() - 1);
      wanted = text.size() + std::max(kLookAhead, text.size() / 2);
    }
  }

  std::unique_ptr<Bytes> take_buffer() {
    const std::lock_guard lock(mutex_);
    if (buffers_.empty()) return std::make_unique<Bytes>();
    auto bytes = std::move(buffers_.back());
    buffers_.pop_back();
    return bytes;
  }
  void give_back(std::unique_ptr<Bytes> bytes) {
    const std::lock_guard lock(mutex_);
    buffers_.push_back(std::move(bytes));
  }

  const PlaceSource* source_;
  std::size_t piece_bytes_;
  const PieceParser* parser_ = nullptr;
  Bytes head_;
  bool head_is_all_ = false;
  std::size_t body_ = 0;
  std::size_t first_cell_ = 0;  // of the batch
  std::size_t next_cell_ = 0;
  std::atomic<bool> ended_ = false;
  std::mutex mutex_;
  std::vector<std::unique_ptr<Bytes>> buffers_;
};

}  // namespace

std::unique_ptr<PieceFeed> feed_in_order(const ByteSource& source,
                                         std::size_t piece_bytes) {
  return std::make_unique<FeedInOrder>(source, piece_bytes);
}

std::unique_ptr<PieceFeed> feed_by_place(const PlaceSource& source,
                                         std::size_t piece_bytes) {
  return std::make_unique<FeedByPlace>(source, piece_bytes);
}

}  // namespace clockassay
