// SPDX-License-Identifier: GPL-3.0-or-later
// What CsvScan does with vectors of 64 bytes.
#include "capture/byte_masks.h"
#include "capture/csv_scan.h"
#include "capture/digit_vectors.h"

#if defined(__x86_64__)

namespace clockassay {
namespace {

constexpr std::size_t kTimeBytes = CsvScanShape::kTimeBytes;

}  // namespace

CLOCKASSAY_AVX512 void CsvScan::find_avx512(const CsvScanShape& shape,
                                            std::string_view rows) {
  const __m512i end = _mm512_set1_epi8(static_cast<char>(shape.text_.back()));
  std::size_t found = 0;
  for (std::size_t at = 0; at + kLeastBytes <= rows.size() && found < kMost;
       at += kChunk) {
    found += put_positions(
        _mm512_cmpeq_epi8_mask(sixty_four(rows.data() + at), end),
        static_cast<std::uint32_t>(at + 1), ends_.data() + found + 1);
  }
  rows_ = found;
}

/// What is seen of four rows side by side, each in a lane of sixteen bytes.
struct CsvScan::FourRowsLook {
  // The last byte of the rest, by which rows were found, needs no look.
  static constexpr std::size_t kMostRest = kTimeBytes + 1;
  static constexpr std::size_t kRestFrom = CsvScanShape::kMostRest - kMostRest;

  __m512i text, fixed;
  __m256i turning;
  __m128i rest;  // its size
  __m512i mark;
  __m512i shift;  // where in a time a digit is whose mark is at 0
  __m512i most_whole, most_behind;
  // Not 0 once something is not as it should be.
  __m512i wrong = _mm512_setzero_si512();
  __mmask64 wrong_sizes = 0;

  CLOCKASSAY_AVX512 explicit FourRowsLook(const CsvScanShape& of)
      : text(four_times(of.text_.data() + kRestFrom)),
        fixed(four_times(of.fixed_.data() + kRestFrom)),
        turning(_mm256_set1_epi64x(static_cast<std::int64_t>(of.turning_))),
        rest(_mm_set1_epi32(static_cast<std::int32_t>(of.size_))),
        mark(_mm512_set1_epi8(of.mark_)),
        most_whole(all(kTimeBytes - of.decimals_)),
        most_behind(all(of.decimals_ + 1)) {
    // Digits before the mark end where those of a full time do; the mark is
    // left out.
    const __mmask64 decimals = _mm512_cmpge_epu8_mask(numbers(), most_whole);
    shift = _mm512_sub_epi8(numbers(), most_whole);
    shift = _mm512_mask_add_epi8(shift, decimals, shift, all(1));
  }

  CLOCKASSAY_AVX512 static inline __m512i all(std::size_t byte) {
    return _mm512_set1_epi8(static_cast<char>(byte));
  }
  CLOCKASSAY_AVX512 static inline __m512i four_times(const void* lane) {
    return _mm512_broadcast_i32x4(sixteen(lane));
  }
  // Of each byte within its lane.
  CLOCKASSAY_AVX512 static inline __m512i numbers() {
    return _mm512_broadcast_i32x4(
        _mm_setr_epi8(0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15));
  }
  CLOCKASSAY_AVX512 static inline __m512i lanes(const char* bytes,
                                                const std::uint32_t* at) {
    const __m512i two =
        _mm512_castsi256_si512(two_lanes(bytes + at[0], bytes + at[1]));
    return _mm512_inserti64x4(two, two_lanes(bytes + at[2], bytes + at[3]), 1);
  }

  // The digits of four times, and how many are decimals. In: where rows end, of
  // the one before and of each
  CLOCKASSAY_AVX512 inline __m512i times(const char* rows,
                                         const std::uint32_t* ends,
                                         std::uint8_t* decimals) {
    const __m128i begins =
        _mm_loadu_si128(reinterpret_cast<const __m128i*>(ends));
    const __m128i behind_rows =
        _mm_loadu_si128(reinterpret_cast<const __m128i*>(ends + 1));
    const __m128i sizes =
        _mm_sub_epi32(_mm_sub_epi32(behind_rows, begins), rest);
    // Of a row shorter than the rest it is too long.
    wrong_sizes |= _mm_cmpgt_epu32_mask(sizes, _mm_set1_epi32(kTimeBytes));
    const __m512i size = _mm512_shuffle_epi8(
        _mm512_broadcast_i32x4(sizes),
        _mm512_set_epi32(0x0C0C0C0C, 0x0C0C0C0C, 0x0C0C0C0C, 0x0C0C0C0C,
                         0x08080808, 0x08080808, 0x08080808, 0x08080808,
                         0x04040404, 0x04040404, 0x04040404, 0x04040404, 0, 0,
                         0, 0));
    const __m512i bytes = lanes(rows, ends);
    const __mmask64 own = _mm512_cmplt_epu8_mask(numbers(), size);
    // 32 and the place of the mark, or a sum: of marks but one are no digits.
    const __m512i halves = _mm512_sad_epu8(
        _mm512_maskz_add_epi8(_mm512_mask_cmpeq_epi8_mask(own, bytes, mark),
                              numbers(), all(32)),
        _mm512_setzero_si512());
    const __m512i sum =
        _mm512_add_epi64(halves, _mm512_shuffle_epi32(halves, _MM_PERM_BADC));
    const __m512i found = _mm512_shuffle_epi8(sum, _mm512_setzero_si512());
    const __m512i place = _mm512_mask_sub_epi8(
        size, _mm512_test_epi8_mask(found, found), found, all(32));
    const __m512i behind = _mm512_sub_epi8(size, place);
    wrong_sizes |= _mm512_testn_epi8_mask(place, place) |
                   _mm512_cmpgt_epu8_mask(place, most_whole) |
                   _mm512_cmpgt_epu8_mask(behind, most_behind) |
                   _mm512_cmpeq_epi8_mask(behind, all(1));
    const __m128i counts =
        _mm512_cvtepi64_epi8(_mm512_subs_epu8(behind, all(1)));  // of each half
    _mm_storeu_si32(
        decimals,
        _mm_shuffle_epi8(counts, _mm_setr_epi8(0, 2, 4, 6, -1, -1, -1, -1, -1,
                                               -1, -1, -1, -1, -1, -1, -1)));
    // What is before or behind the time has the highest bit, and gives 0.
    const __m512i from =
        _mm512_adds_epu8(_mm512_add_epi8(shift, place), all(0x70));
    const __m512i digits = _mm512_maskz_sub_epi8(own, bytes, all('0'));
    return _mm512_shuffle_epi8(digits, from);
  }

  // The levels of four rests. In: where they end
  CLOCKASSAY_AVX512 inline __m256i levels(const char* rows,
                                          const std::uint32_t* ends) {
    const __m512i bytes = lanes(rows - kMostRest, ends);
    constexpr int kDiffersMasked = 0x28;  // (a ^ b) & c
    wrong = _mm512_or_si512(
        wrong, _mm512_ternarylogic_epi64(bytes, text, fixed, kDiffersMasked));
    const __mmask64 odd = _mm512_test_epi8_mask(bytes, all(kTurningBit));
    const __m256i own =
        _mm256_srlv_epi64(_mm256_set1_epi64x(static_cast<std::int64_t>(odd)),
                          _mm256_setr_epi64x(0, 16, 32, 48));
    return _mm256_and_si256(
        _mm256_slli_epi64(_mm256_and_si256(own, _mm256_set1_epi64x(0xFFFF)),
                          kRestFrom),
        turning);
  }

  CLOCKASSAY_AVX512 inline bool is_wrong(__m512i a_digits, __m512i b_digits) {
    const __m512i nine = all(9);
    wrong = _mm512_or_si512(wrong,
                            _mm512_or_si512(_mm512_subs_epu8(a_digits, nine),
                                            _mm512_subs_epu8(b_digits, nine)));
    return (_mm512_test_epi64_mask(wrong, wrong) | wrong_sizes) != 0;
  }
};

// Eight at a time, as long as all is as it should be; how many.
CLOCKASSAY_AVX512 std::size_t CsvScan::take_rows_avx512(
    const CsvScanShape& shape, const char* rows) {
  if (shape.size_ > FourRowsLook::kMostRest) return 0;
  FourRowsLook look(shape);
  // Numbers come as the first and the fifth, the second and the sixth …
  const __m512i in_order = _mm512_setr_epi64(0, 2, 4, 6, 1, 3, 5, 7);
  std::size_t i = 0;
  for (; i + 8 <= rows_; i += 8) {
    const std::uint32_t* const ends = ends_.data() + i;
    std::uint8_t* const decimals = decimals_.data() + i;
    auto* const levels = reinterpret_cast<__m256i*>(levels_.data() + i + 1);
    const __m512i a = look.times(rows, ends, decimals);
    const __m512i b = look.times(rows, ends + 4, decimals + 4);
    _mm256_storeu_si256(levels, look.levels(rows, ends + 1));
    _mm256_storeu_si256(levels + 1, look.levels(rows, ends + 5));
    if (look.is_wrong(a, b)) break;
    _mm512_storeu_si512(
        times_.data() + i + 1,
        _mm512_permutexvar_epi64(in_order, numbers_of_digits(a, b)));
  }
  return i;
}

CLOCKASSAY_AVX512 void CsvScan::find_changes_avx512() {
  std::size_t found = 0;
  for (std::size_t i = 1; i <= rows_; i += 8) {
    const std::size_t left = rows_ + 1 - i;
    const auto there =
        static_cast<__mmask8>(left < 8 ? (1u << left) - 1 : 0xFF);
    const __m512i levels = sixty_four(levels_.data() + i);
    const __mmask8 change = _mm512_mask_cmpneq_epi64_mask(
        there, levels, sixty_four(levels_.data() + i - 1));
    _mm512_storeu_si512(change_levels_.data() + found,
                        _mm512_maskz_compress_epi64(change, levels));
    _mm512_storeu_si512(
        change_times_.data() + found,
        _mm512_maskz_compress_epi64(change, sixty_four(times_.data() + i)));
    found += count_bits(change);
  }
  changes_ = found;
}

}  // namespace clockassay

#endif
