// SPDX-License-Identifier: GPL-3.0-or-later
#include <zstd.h>
#include <zstd_errors.h>

#include <algorithm>
#include <new>

#include "capture/member_decoder.h"

namespace clockassay {
namespace {

// Log2 of the largest window [bytes]. Chosen: what the format's own tools
// accept unless told otherwise.
constexpr int kLargestWindowLog = 27;

const char* damage_name(std::size_t code) {
  switch (ZSTD_getErrorCode(code)) {
    case ZSTD_error_checksum_wrong:
      return "a checksum that does not fit";
    case ZSTD_error_frameParameter_windowTooLarge:
      return "a window of more than 128 MiB";
    case ZSTD_error_dictionary_wrong:
      return "the need of a dictionary";
    case ZSTD_error_prefix_unknown:
    case ZSTD_error_version_unsupported:
    case ZSTD_error_frameParameter_unsupported:
      return "a header that is none";
    default:
      return "a block that makes no sense";
  }
}

struct FreeContext {
  void operator()(ZSTD_DCtx* context) const { ZSTD_freeDCtx(context); }
};

class ZstdDecoder : public MemberDecoder {
 public:
  ZstdDecoder() : context_(ZSTD_createDCtx()) {
    if (!context_) throw std::bad_alloc();
    ZSTD_DCtx_setParameter(context_.get(), ZSTD_d_windowLogMax,
                           kLargestWindowLog);
  }

  DecoderStep step(std::string_view& in, std::span<char> out) override {
    // A frame that is whole, with room for all of it, the library would take
    // at once, and say of damage whatever it comes upon first that way.
    const std::size_t size =
        at_begin_ ? std::min(in.size(), kOfBeginning) : in.size();
    ZSTD_inBuffer from{in.data(), size, 0};
    ZSTD_outBuffer to{out.data(), out.size(), 0};
    const std::size_t code = ZSTD_decompressStream(context_.get(), &to, &from);
    in.remove_prefix(from.pos);
    DecoderStep step;
    step.produced = to.pos;
    if (ZSTD_isError(code) != 0) {
      step.damage = damage_name(code);
    } else {
      step.ended = code == 0;
      at_begin_ = step.ended || (at_begin_ && from.pos == 0);
    }
    return step;
  }

 private:
  // Some of its header: after four bytes the library looks whether what follows
  // is a frame by itself.
  static constexpr std::size_t kOfBeginning = 1;

  bool at_begin_ = true;  // of a frame
  std::unique_ptr<ZSTD_DCtx, FreeContext> context_;
};

}  // namespace

bool begins_zstd(std::string_view text) {
  if (text.starts_with("\x28\xB5\x2F\xFD")) return true;
  // Skippable frames, of which parallel compressors write one before each.
  return text.size() >= 4 && (text[0] & '\xF0') == '\x50' &&
         text.substr(1, 3) == "\x2A\x4D\x18";
}

std::unique_ptr<MemberDecoder> make_zstd_decoder() {
  return std::make_unique<ZstdDecoder>();
}

}  // namespace clockassay
