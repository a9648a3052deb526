// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/capture/arena.h"

#include <doctest/doctest.h>

#include <cstdint>
#include <cstring>
#include <utility>
#include <vector>

namespace clockassay {
namespace {

TEST_CASE("Arena: pieces are aligned to 64 bytes and keep what is written") {
  Arena arena;
  std::vector<std::span<std::byte>> pieces;
  // Together above 2 MiB, so that a second chunk is taken.
  for (std::size_t i = 0; i < 1000; ++i) {
    pieces.push_back(arena.allocate(1 + i * 7));
    REQUIRE(pieces.back().size() == 1 + i * 7);
    CHECK(reinterpret_cast<std::uintptr_t>(pieces.back().data()) % 64 == 0);
    std::memset(pieces.back().data(), static_cast<int>(i % 251),
                pieces.back().size());
  }
  for (std::size_t i = 0; i < pieces.size(); ++i) {
    CHECK(pieces[i].front() == static_cast<std::byte>(i % 251));
    CHECK(pieces[i].back() == static_cast<std::byte>(i % 251));
  }
}

TEST_CASE("Arena: a piece larger than a chunk is one piece") {
  Arena arena;
  const auto piece = arena.allocate(std::size_t{5} << 20);
  piece.front() = std::byte{1};
  piece.back() = std::byte{2};
  CHECK(piece.size() == std::size_t{5} << 20);
}

TEST_CASE("Arena: memory stays where it is when the arena is moved") {
  Arena arena;
  const auto piece = arena.allocate(10);
  piece[3] = std::byte{42};
  Arena other = std::move(arena);
  other.allocate(10)[3] = std::byte{1};
  CHECK(piece[3] == std::byte{42});
}

}  // namespace
}  // namespace clockassay
