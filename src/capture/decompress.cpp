// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/capture/decompress.h"

#include <algorithm>
#include <cstring>
#include <memory>
#include <optional>
#include <string>
#include <utility>

#include "capture/member_decoder.h"
#include "capture/shown_text.h"

namespace clockassay {
namespace {

// Compressed bytes held at once [bytes]. Chosen: a few system calls a MiB.
constexpr std::size_t kBuffer = std::size_t{128} << 10;
// What a member begins with [bytes]: more than its magic, because the gzip
// library takes the checksum of a header that comes in parts for a wrong one.
constexpr std::size_t kBeginning = 1024;
// Bytes shown of what does not belong to the data.
constexpr std::size_t kShown = 16;

constexpr const char* kCopyAgain =
    "nothing of it is used; get the file again from where it was made";

struct Format {
  Compression compression;
  bool (*begins)(std::string_view text);
  std::unique_ptr<MemberDecoder> (*make_decoder)();
};

constexpr Format kFormats[] = {
    {Compression::kGzip, begins_gzip, make_gzip_decoder},
    {Compression::kZstd, begins_zstd, make_zstd_decoder}};

const Format* format_of(std::string_view beginning) {
  for (const Format& format : kFormats) {
    if (format.begins(beginning)) return &format;
  }
  return nullptr;
}

class Decompressor {
 public:
  Decompressor(ByteSource source, Compression& found, UnpackLimit limit)
      : source_(std::move(source)), found_(&found), limit_(limit) {}

  Result<std::size_t> read(std::span<char> out) {
    if (failed_) return tl::unexpected(*failed_);
    if (out.empty()) return 0;
    const std::size_t result = begun_ || begin() ? next(out) : 0;
    if (failed_) return tl::unexpected(*failed_);
    return result;
  }

 private:
  // Each false or 0 beside failed_ when that is set.
  bool begin();
  std::size_t next(std::span<char> out);
  std::size_t copy(std::span<char> out);
  std::size_t decode(std::span<char> out);
  std::size_t within_limit(std::size_t produced);
  bool find_member();
  bool skip_padding();
  bool fill();
  bool fill_to(std::size_t size);
  std::int64_t position() const {
    return taken_ - static_cast<std::int64_t>(in_.size());
  }
  void fail(std::int64_t byte, std::string message, std::string hint);

  ByteSource source_;
  Compression* found_;
  UnpackLimit limit_;
  std::int64_t produced_ = 0;  // bytes of text
  std::unique_ptr<char[]> buffer_ =
      std::make_unique_for_overwrite<char[]>(kBuffer);
  std::string_view in_;     // of the buffer, not yet decoded
  std::int64_t taken_ = 0;  // bytes from the source
  bool at_end_ = false;     // of the source
  bool begun_ = false;
  bool in_member_ = false;
  std::int64_t member_begin_ = 0;   // byte of the present member
  const Format* format_ = nullptr;  // absent: not compressed
  std::unique_ptr<MemberDecoder> decoder_;
  std::optional<Error> failed_;
};

void Decompressor::fail(std::int64_t byte, std::string message,
                        std::string hint) {
  failed_ = Error{ErrorCode::kBadData, std::move(message), std::move(hint)};
  failed_->byte = byte;
}

// One more read behind what is there; false at the end.
bool Decompressor::fill() {
  if (at_end_) return false;
  std::memmove(buffer_.get(), in_.data(), in_.size());
  const auto got =
      source_(std::span(buffer_.get(), kBuffer).subspan(in_.size()));
  if (!got) {
    failed_ = got.error();
    return false;
  }
  in_ = std::string_view(buffer_.get(), in_.size() + *got);
  taken_ += static_cast<std::int64_t>(*got);
  at_end_ = *got == 0;
  return !at_end_;
}

// Whether that many bytes are there.
bool Decompressor::fill_to(std::size_t size) {
  while (in_.size() < size && fill()) {
  }
  return in_.size() >= size;
}

bool Decompressor::begin() {
  in_ = std::string_view(buffer_.get(), 0);
  (void)fill_to(kBeginning);
  if (failed_) return false;
  begun_ = true;
  *found_ = Compression::kNone;
  format_ = format_of(in_);
  if (format_ == nullptr) return true;
  *found_ = format_->compression;
  decoder_ = format_->make_decoder();
  if (!decoder_) {
    failed_ = Error{ErrorCode::kNoInput,
                    std::string("found ") + compression_name(*found_) +
                        " data but no libisal.so.2, expected the library that "
                        "unpacks them",
                    "install the package libisal2, or unpack the file first"};
    return false;
  }
  in_member_ = true;
  return true;
}

std::size_t Decompressor::next(std::span<char> out) {
  return format_ != nullptr ? decode(out) : copy(out);
}

std::size_t Decompressor::copy(std::span<char> out) {
  if (in_.empty() && !at_end_) {
    const auto got = source_(out);
    if (got) return *got;
    failed_ = got.error();
    return 0;
  }
  const std::size_t size = std::min(in_.size(), out.size());
  std::memcpy(out.data(), in_.data(), size);
  in_.remove_prefix(size);
  return size;
}

std::size_t Decompressor::decode(std::span<char> out) {
  const std::string name = compression_name(*found_);
  while (in_member_ || find_member()) {
    const std::size_t before = in_.size();
    const DecoderStep step = decoder_->step(in_, out);
    if (step.damage != nullptr) {
      // How far a decoder has read by then depends on how it was fed.
      fail(member_begin_, "found damaged " + name + " data: " + step.damage,
           kCopyAgain);
      return 0;
    }
    in_member_ = !step.ended;
    if (step.produced > 0) return within_limit(step.produced);
    const bool stuck = in_member_ && in_.size() == before;
    if (!stuck || fill()) continue;
    if (!failed_) {
      fail(position(),
           "found the end of the file inside " + name +
               " data, expected its end",
           kCopyAgain);
    }
    return 0;
  }
  return 0;
}

// What was produced, or 0 and an error where it grows without reason.
std::size_t Decompressor::within_limit(std::size_t produced) {
  produced_ += static_cast<std::int64_t>(produced);
  if (limit_.ratio == 0 || produced_ <= limit_.size ||
      produced_ / limit_.ratio <= position()) {
    return produced;
  }
  fail(position(),
       "found more than " + std::to_string(limit_.ratio) + " times as much " +
           "text as " + compression_name(*found_) +
           " data, expected less of a capture",
       "if it is one, say how often: --unpack-limit N, or 0 for any");
  return 0;
}

// Between two members: whether another one begins.
bool Decompressor::find_member() {
  if (!fill_to(kBeginning) && (failed_ || in_.empty())) return false;
  if (format_->begins(in_)) {
    in_member_ = true;
    member_begin_ = position();
    return true;
  }
  if (skip_padding() || failed_) return false;
  (void)fill_to(kShown);
  if (failed_) return false;
  fail(position(),
       "found " + shown_text(in_.substr(0, kShown)) + " after the end of the " +
           compression_name(*found_) + " data, expected more of it or nothing",
       kCopyAgain);
  return false;
}

// Whether nothing but zeros follows.
bool Decompressor::skip_padding() {
  do {
    const std::size_t zeros = in_.find_first_not_of('\0');
    if (zeros != std::string_view::npos) {
      in_.remove_prefix(zeros);
      return false;
    }
    in_ = std::string_view(buffer_.get(), 0);
  } while (fill());
  return !failed_;
}

}  // namespace

Compression compression_of(std::string_view beginning) {
  const Format* format = format_of(beginning);
  return format != nullptr ? format->compression : Compression::kNone;
}

const char* compression_name(Compression compression) {
  switch (compression) {
    case Compression::kGzip:
      return "gzip";
    case Compression::kZstd:
      return "zstd";
    case Compression::kNone:
      break;
  }
  return "none";
}

ByteSource decompress(ByteSource source, Compression& found,
                      UnpackLimit limit) {
  const auto state =
      std::make_shared<Decompressor>(std::move(source), found, limit);
  return [state](std::span<char> out) { return state->read(out); };
}

}  // namespace clockassay
