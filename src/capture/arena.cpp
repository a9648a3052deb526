// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/capture/arena.h"

#include <sys/mman.h>

#include <new>
#include <utility>

namespace clockassay {
namespace {

// The size of a huge page on x86-64 and arm64 with 4 KiB base pages [bytes].
constexpr std::size_t kChunkAlignment = std::size_t{2} << 20;
// The first chunk of an arena [bytes]. Chosen: enough for a small capture, and
// one page after the other costs less than a whole huge one.
constexpr std::size_t kFirstChunk = std::size_t{64} << 10;
// A cache line, and the widest vector register [bytes].
constexpr std::size_t kAlignment = 64;

std::size_t round_up(std::size_t size, std::size_t to) {
  return (size + to - 1) / to * to;
}

}  // namespace

struct Arena::Chunk {
  explicit Chunk(std::size_t size_)
      : data(static_cast<std::byte*>(::operator new(size_, alignment(size_)))),
        size(size_) {
    // Only a wish: where the kernel cannot grant it, small pages do.
    if (size >= kChunkAlignment) (void)madvise(data, size, MADV_HUGEPAGE);
  }
  ~Chunk() {
    if (data != nullptr) ::operator delete(data, alignment(size));
  }
  Chunk(Chunk&& other) noexcept
      : data(std::exchange(other.data, nullptr)), size(other.size) {}
  Chunk& operator=(Chunk&& other) noexcept {
    std::swap(data, other.data);
    std::swap(size, other.size);
    return *this;
  }

  static std::align_val_t alignment(std::size_t size) {
    return std::align_val_t{size >= kChunkAlignment ? kChunkAlignment
                                                    : kAlignment};
  }

  std::byte* data;
  std::size_t size;
};

Arena::Arena() = default;
Arena::~Arena() = default;
Arena::Arena(Arena&&) noexcept = default;
Arena& Arena::operator=(Arena&&) noexcept = default;

std::span<std::byte> Arena::allocate(std::size_t size) {
  const std::size_t padded = round_up(size, kAlignment);
  if (chunks_.empty() || chunks_.back().size - used_ < padded) {
    const bool small = chunks_.empty() && padded <= kFirstChunk;
    chunks_.emplace_back(small ? kFirstChunk
                               : round_up(padded, kChunkAlignment));
    used_ = 0;
  }
  std::byte* at = chunks_.back().data + used_;
  used_ += padded;
  return {at, size};
}

}  // namespace clockassay
