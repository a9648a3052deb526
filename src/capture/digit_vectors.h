// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

// Bytes, and decimal digits to numbers, by vectors; for sources that have
// kernels.
#if defined(__x86_64__)
#include <immintrin.h>

#include <cstdint>

#include "base/simd_level.h"

namespace clockassay {

/// Thirty-two bytes.
CLOCKASSAY_AVX2 inline __m256i thirty_two(const void* from) {
  return _mm256_loadu_si256(static_cast<const __m256i*>(from));
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

}  // namespace clockassay

#endif
