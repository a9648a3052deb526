// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

// Masks of 64 bits, one for each of as many bytes; for sources that have
// kernels.
#include <cstddef>
#include <cstdint>

#include "base/simd_level.h"

namespace clockassay {

/// What '0' and '1' differ by.
inline constexpr std::uint8_t kTurningBit = '0' ^ '1';

/// Position of the lowest bit; of none: the last. Not a branch.
CLOCKASSAY_KERNEL std::uint32_t lowest_bit(std::uint64_t mask) {
  return static_cast<std::uint32_t>(
      __builtin_ctzll(mask | std::uint64_t{1} << 63));
}

CLOCKASSAY_KERNEL std::size_t count_bits(std::uint64_t mask) {
  return static_cast<std::size_t>(__builtin_popcountll(mask));
}

/// Calls put(i, bit) for the bits of a mask, lowest first; how many there are.
/// The first kAlways times without asking whether there are as many, so that
/// nothing is guessed: what is put then must do no harm.
template <std::size_t kAlways, class Put>
CLOCKASSAY_KERNEL std::size_t for_bits(std::uint64_t mask, const Put& put) {
  const std::size_t count = count_bits(mask);
  for (std::size_t i = 0; i < kAlways; ++i, mask &= mask - 1) {
    put(i, lowest_bit(mask));
  }
  for (std::size_t i = kAlways; i < count; ++i, mask &= mask - 1) {
    put(i, lowest_bit(mask));
  }
  return count;
}

}  // namespace clockassay
