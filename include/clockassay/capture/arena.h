// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <memory>
#include <span>
#include <vector>

namespace clockassay {

/// Memory that only grows and is freed as a whole. Chunks, after a small first
/// one, are multiples of 2 MiB, aligned to it, and ask the kernel for huge
/// pages, because the first touch of small pages costs more than everything
/// else done to an edge.
/// Not safe for use by two threads at once.
class Arena {
 public:
  Arena();
  ~Arena();
  Arena(Arena&&) noexcept;
  Arena& operator=(Arena&&) noexcept;

  /// `size` bytes aligned to 64, uninitialised, valid as long as the arena.
  std::span<std::byte> allocate(std::size_t size);

 private:
  struct Chunk;
  std::vector<Chunk> chunks_;
  std::size_t used_ = 0;
};

}  // namespace clockassay
