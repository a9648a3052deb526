// SPDX-License-Identifier: GPL-3.0-or-later
#include <dlfcn.h>
#include <isa-l/igzip_lib.h>

#include <algorithm>
#include <limits>
#include <optional>
#include <type_traits>

#include "capture/member_decoder.h"

namespace clockassay {
namespace {

std::uint32_t clamped(std::size_t size) {
  return static_cast<std::uint32_t>(
      std::min<std::size_t>(size, std::numeric_limits<std::int32_t>::max()));
}

const char* damage_name(int code) {
  switch (code) {
    case ISAL_INVALID_BLOCK:
      return "a block of an unknown kind";
    case ISAL_INVALID_SYMBOL:
      return "a code that means nothing";
    case ISAL_INVALID_LOOKBACK:
      return "a reference to before the beginning";
    case ISAL_UNSUPPORTED_METHOD:
      return "another method than deflate";
    case ISAL_INCORRECT_CHECKSUM:
      return "a checksum or length that does not fit";
    default:
      return "a header that is none";
  }
}

// The library is loaded when there is something for it: linked in, it would be
// loaded at every start, and there is no archive of it. It is the one thing
// that the reader asks the system for by itself.
struct Igzip {
  decltype(&isal_inflate_init) init = nullptr;
  decltype(&isal_inflate_reset) reset = nullptr;
  decltype(&isal_read_gzip_header) read_header = nullptr;
  decltype(&isal_inflate) inflate = nullptr;
};

std::optional<Igzip> load_igzip() {
  void* const library = dlopen("libisal.so.2", RTLD_NOW | RTLD_LOCAL);
  if (library == nullptr) return std::nullopt;
  Igzip igzip;
  const auto find = [library](auto& function, const char* name) {
    function = reinterpret_cast<std::remove_reference_t<decltype(function)>>(
        dlsym(library, name));
    return function != nullptr;
  };
  const bool all = find(igzip.init, "isal_inflate_init") &&
                   find(igzip.reset, "isal_inflate_reset") &&
                   find(igzip.read_header, "isal_read_gzip_header") &&
                   find(igzip.inflate, "isal_inflate");
  return all ? std::optional(igzip) : std::nullopt;
}

// The bounds of both buffers are the library's to keep.
class GzipDecoder : public MemberDecoder {
 public:
  explicit GzipDecoder(const Igzip& igzip) : igzip_(igzip) {
    igzip_.init(&state_);
  }

  DecoderStep step(std::string_view& in, std::span<char> out) override {
    if (!in_member_) {
      igzip_.reset(&state_);
      state_.crc_flag = ISAL_GZIP_NO_HDR_VER;  // verifies the trailer
      header_ = {};
      in_member_ = in_header_ = true;
    }
    const std::uint32_t given = clamped(in.size());
    const std::uint32_t room = clamped(out.size());
    // The library takes a pointer to what it only reads.
    state_.next_in =
        reinterpret_cast<std::uint8_t*>(const_cast<char*>(in.data()));
    state_.avail_in = given;
    state_.next_out = reinterpret_cast<std::uint8_t*>(out.data());
    state_.avail_out = room;
    const int code = decode();
    in.remove_prefix(given - state_.avail_in);
    DecoderStep step;
    step.produced = room - state_.avail_out;
    if (code != ISAL_DECOMP_OK) {
      step.damage = damage_name(code);
    } else if (state_.block_state == ISAL_BLOCK_FINISH) {
      step.ended = true;
      in_member_ = false;
    }
    return step;
  }

 private:
  // isal_inflate() would read the header, too, but forgets what parts it has
  // where it comes in parts.
  int decode() {
    if (in_header_) {
      const int code = igzip_.read_header(&state_, &header_);
      if (code == ISAL_END_INPUT) return ISAL_DECOMP_OK;
      if (code != ISAL_DECOMP_OK) return code;
      in_header_ = false;
    }
    return igzip_.inflate(&state_);
  }

  Igzip igzip_;
  inflate_state state_;
  isal_gzip_header header_ = {};  // nothing of it is kept but what it has
  bool in_member_ = false;
  bool in_header_ = false;
};

}  // namespace

bool begins_gzip(std::string_view text) {
  return text.starts_with("\x1F\x8B");
}

std::unique_ptr<MemberDecoder> make_gzip_decoder() {
  static const std::optional<Igzip> igzip = load_igzip();
  return igzip ? std::make_unique<GzipDecoder>(*igzip) : nullptr;
}

}  // namespace clockassay
