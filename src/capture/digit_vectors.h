// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

// Bytes, and decimal digits to numbers, by vectors; for sources that have
// kernels.
#if defined(__x86_64__)
// GCC 12 takes the undefined vectors of its own header for mistakes.
#pragma GCC diagnostic push
#pragma GCC diagnostic ignored "-Wuninitialized"
#if !defined(__clang__)
#pragma GCC diagnostic ignored "-Wmaybe-uninitialized"
#endif
#include <immintrin.h>
#pragma GCC diagnostic pop

#include <array>
#include <cstddef>
#include <cstdint>

#include "base/simd_level.h"
#include "capture/byte_masks.h"

namespace clockassay {

/// Sixteen bytes.
CLOCKASSAY_AVX2 inline __m128i sixteen(const void* from) {
  return _mm_loadu_si128(static_cast<const __m128i*>(from));
}

/// Thirty-two bytes.
CLOCKASSAY_AVX2 inline __m256i thirty_two(const void* from) {
  return _mm256_loadu_si256(static_cast<const __m256i*>(from));
}

/// Sixty-four bytes.
CLOCKASSAY_AVX512 inline __m512i sixty_four(const void* from) {
  return _mm512_loadu_si512(from);
}

/// Sixteen bytes twice.
CLOCKASSAY_AVX2 inline __m256i both_lanes(const std::uint8_t* lane) {
  return _mm256_broadcastsi128_si256(
      _mm_loadu_si128(reinterpret_cast<const __m128i*>(lane)));
}

/// Sixteen bytes from `low`, and from `high`.
CLOCKASSAY_AVX2 inline __m256i two_lanes(const void* low, const void* high) {
  return _mm256_inserti128_si256(
      _mm256_castsi128_si256(_mm_loadu_si128(static_cast<const __m128i*>(low))),
      _mm_loadu_si128(static_cast<const __m128i*>(high)), 1);
}

/// Sixteen digits in each lane of two vectors, most significant first, to
/// numbers: those of `a` in the even places, of `b` in the odd ones.
CLOCKASSAY_AVX2 inline __m256i numbers_of_digits(__m256i a, __m256i b) {
  const __m256i tens = _mm256_set1_epi16(0x010A);          // 10, 1
  const __m256i hundreds = _mm256_set1_epi32(0x00010064);  // 100, 1
  const __m256i myriads = _mm256_set1_epi32(0x00012710);   // 10000, 1
  const __m256i upper = _mm256_set1_epi64x(100'000'000);
  a = _mm256_madd_epi16(_mm256_maddubs_epi16(a, tens), hundreds);
  b = _mm256_madd_epi16(_mm256_maddubs_epi16(b, tens), hundreds);
  const __m256i eights = _mm256_madd_epi16(_mm256_packus_epi32(a, b), myriads);
  return _mm256_add_epi64(_mm256_mul_epu32(eights, upper),
                          _mm256_srli_epi64(eights, 32));
}

/// The same of four lanes.
CLOCKASSAY_AVX512 inline __m512i numbers_of_digits(__m512i a, __m512i b) {
  const __m512i tens = _mm512_set1_epi16(0x010A);          // 10, 1
  const __m512i hundreds = _mm512_set1_epi32(0x00010064);  // 100, 1
  const __m512i myriads = _mm512_set1_epi32(0x00012710);   // 10000, 1
  const __m512i upper = _mm512_set1_epi64(100'000'000);
  a = _mm512_madd_epi16(_mm512_maddubs_epi16(a, tens), hundreds);
  b = _mm512_madd_epi16(_mm512_maddubs_epi16(b, tens), hundreds);
  const __m512i eights = _mm512_madd_epi16(_mm512_packus_epi32(a, b), myriads);
  return _mm512_add_epi64(_mm512_mul_epu32(eights, upper),
                          _mm512_srli_epi64(eights, 32));
}

/// Base plus each of sixteen bytes.
CLOCKASSAY_AVX512 inline void put_sixteen(__m128i bytes, std::uint32_t base,
                                          std::uint32_t* to) {
  const __m512i from = _mm512_set1_epi32(static_cast<std::int32_t>(base));
  _mm512_storeu_si512(to, _mm512_add_epi32(from, _mm512_cvtepu8_epi32(bytes)));
}

/// Writes base + i for each bit i of a mask, lowest first, and anything up to
/// 64 numbers from `to` on; how many bits there are.
CLOCKASSAY_AVX512 inline std::size_t put_positions(std::uint64_t mask,
                                                   std::uint32_t base,
                                                   std::uint32_t* to) {
  alignas(64) static constexpr auto kAll = [] {
    std::array<std::uint8_t, 64> all{};
    for (std::uint8_t i = 0; i < 64; ++i) all[i] = i;
    return all;
  }();
  const __m512i places =
      _mm512_maskz_compress_epi8(mask, sixty_four(kAll.data()));
  put_sixteen(_mm512_castsi512_si128(places), base, to);
  const std::size_t count = count_bits(mask);
  if (count > 16) [[unlikely]] {
    put_sixteen(_mm512_extracti32x4_epi32(places, 1), base, to + 16);
    put_sixteen(_mm512_extracti32x4_epi32(places, 2), base, to + 32);
    put_sixteen(_mm512_extracti32x4_epi32(places, 3), base, to + 48);
  }
  return count;
}

}  // namespace clockassay

#endif
