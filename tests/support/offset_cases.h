// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <doctest/doctest.h>

#include <cstddef>
#include <cstdint>
#include <functional>
#include <random>
#include <vector>

#include "clockassay/capture/offset_sums.h"
#include "support/simd_levels.h"

namespace clockassay::test {

using Offsets = std::vector<std::int32_t>;

/// Offsets in a range of that width anywhere that is allowed.
inline Offsets draw_offsets(std::size_t n, std::int32_t width,
                            std::mt19937_64& random) {
  const std::int32_t room = kNarrowResidual - 1 - width;
  const std::int32_t base =
      std::uniform_int_distribution<std::int32_t>(-room, room)(random);
  std::uniform_int_distribution<std::int32_t> any(0, width);
  Offsets offsets(n);
  for (std::int32_t& o : offsets) o = base + any(random);
  return offsets;
}

/// Calls check() with offsets of every length and width that loops over them
/// treat differently, and the largest there are, at every level of
/// instructions.
inline void for_offsets(const std::function<void(const Offsets&)>& check) {
  constexpr std::uint64_t kSeed = 17;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  constexpr std::int32_t kMost = kNarrowResidual - 1;
  at_each_simd_level([&] {
    for (const std::size_t n :
         {1u, 2u, 3u, 8u, 63u, 64u, 65u, 66u, 129u, 2047u, 2048u}) {
      for (const std::int32_t width : {0, 1, 50, 4095, 4096, 1 << 20}) {
        CAPTURE(n);
        CAPTURE(width);
        check(draw_offsets(n, width, random));
      }
      Offsets far(n);
      for (std::size_t i = 0; i < n; ++i) far[i] = i % 2 == 0 ? kMost : -kMost;
      check(far);
      Offsets widest_small(n);
      for (std::size_t i = 0; i < n; ++i)
        widest_small[i] = i % 2 == 0 ? 4095 : 0;
      check(widest_small);
    }
  });
}

}  // namespace clockassay::test
