// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <memory>
#include <span>
#include <string_view>

namespace clockassay {

/// What one step of a decoder did.
struct DecoderStep {
  std::size_t produced = 0;
  bool ended = false;            ///< the member is complete, and verified
  const char* damage = nullptr;  ///< what is wrong with it, as a noun phrase
};

/// Decodes one member of a compressed file after the other: a gzip member, a
/// Zstandard frame.
class MemberDecoder {
 public:
  virtual ~MemberDecoder() = default;
  /// Decodes from the front of `in`, which it shortens, into `out`. Before the
  /// first step and after the end of a member `in` begins the next one. With
  /// an empty `in` it gives what it held back.
  virtual DecoderStep step(std::string_view& in, std::span<char> out) = 0;
};

/// Whether a member may begin like this; the text has at least four bytes
/// unless the input ends before.
bool begins_gzip(std::string_view text);
bool begins_zstd(std::string_view text);

/// Null where libisal.so.2 is not installed.
std::unique_ptr<MemberDecoder> make_gzip_decoder();
std::unique_ptr<MemberDecoder> make_zstd_decoder();

}  // namespace clockassay
