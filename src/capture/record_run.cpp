// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/record_run.h"

#include <algorithm>
#include <cassert>

#include "base/ascii_digit.h"
#include "capture/digit_vectors.h"

namespace clockassay {
namespace {

constexpr char kLevels[2] = {'0', '1'};
constexpr std::uint8_t kAll = 0xFF;
constexpr std::uint8_t kNothing = 0x80;  // a byte shuffle gives 0 for it

// Whether each of so many times, which are not negative, is later than the one
// before it.
CLOCKASSAY_KERNEL bool increase_any(const std::int64_t* odd,
                                    const std::int64_t* even,
                                    std::size_t count) {
  // Negative where one is not later: a difference less one.
  std::int64_t signs = 0;
  for (std::size_t i = 0; i + 1 < count / 2; ++i) {
    signs |= (even[i] - odd[i] - 1) | (odd[i + 1] - even[i] - 1);
  }
  // The last two or three.
  for (std::size_t i = count < 4 ? 1 : count / 2 * 2 - 1; i < count; ++i) {
    const std::int64_t* const own = i % 2 == 0 ? odd : even;
    const std::int64_t* const other = i % 2 == 0 ? even : odd;
    signs |= own[i / 2] - other[(i - 1) / 2] - 1;
  }
  return signs >= 0;
}

CLOCKASSAY_AT_LEVEL(bool, increase,
                    (const std::int64_t* odd, const std::int64_t* even,
                     std::size_t count),
                    (odd, even, count))

}  // namespace

RecordShape::RecordShape(std::string_view record, std::uint32_t digits,
                         std::size_t level)
    : size_(record.size()), level_(level), digits_(digits) {
  assert(!record.empty() && record.size() <= kLongest && level < record.size());
  assert(digits >> kDigitBytes == 0 && (digits >> level & 1) == 0);
  std::copy(record.begin(), record.end(), text_.begin());
  places_.fill(kNothing);
  std::size_t to = kDigitBytes;
  for (std::size_t i = kDigitBytes; i-- > 0;) {
    if ((digits >> i & 1) == 0) continue;
    --to;
    places_[to] = static_cast<std::uint8_t>(i);
    zeros_[to] = '0';
  }
  // Records shorter than a vector end within the first.
  const std::size_t tail = std::max(size_, kDigitBytes) - kDigitBytes;
  for (std::size_t i = 0; i < size_; ++i) {
    if ((digits >> i & 1) != 0) continue;
    for (std::size_t high : {0u, 1u}) {
      const char c = i == level ? kLevels[high] : record[i];
      if (i < kDigitBytes) head_[high][i] = static_cast<std::uint8_t>(c);
      if (i >= tail) tail_[high][i - tail] = static_cast<std::uint8_t>(c);
    }
    if (i < kDigitBytes) head_mask_[i] = kAll;
    if (i >= tail) tail_mask_[i - tail] = kAll;
  }
  if (size_ <= kDigitBytes) put_side_by_side();
}

void RecordShape::put_side_by_side() {
  for (std::size_t record = 0; record < 4; ++record) {
    for (std::size_t i = 0; i < size_; ++i) {
      const std::size_t to = record * size_ + i;
      for (std::size_t high : {0u, 1u}) {
        four_[high][to] = head_[record % 2 == 0 ? high : 1 - high][i];
      }
      four_mask_[to] = head_mask_[i];
    }
    for (std::size_t i = 0; i < kDigitBytes; ++i) {
      if (places_[i] == kNothing) continue;
      const std::size_t to = record * kDigitBytes + i;
      four_places_[to] = static_cast<std::uint8_t>(record * size_ + places_[i]);
      four_digits_ |= std::uint64_t{1} << to;
    }
  }
}

void RecordRun::take(const RecordShape& shape, std::string_view bytes,
                     bool high, std::int64_t after, SimdLevel simd) {
  count_ = 0;
#if defined(__x86_64__)
  if (simd >= SimdLevel::kAvx512) take_avx512(shape, bytes, high);
  if (simd >= SimdLevel::kAvx2) take_avx2(shape, bytes, high);
#endif
  take_plain(shape, bytes, high);
  keep_increasing(after);
}

// Goes on after what was taken.
void RecordRun::take_plain(const RecordShape& shape, std::string_view bytes,
                           bool high) {
  const std::size_t size = shape.size_;
  const std::size_t most = std::min(kMost, bytes.size() / size);
  for (; count_ < most; ++count_) {
    const char* record = bytes.data() + count_ * size;
    const char level = kLevels[high != (count_ % 2 == 1) ? 1 : 0];
    std::int64_t time = 0;
    for (std::size_t i = 0; i < size; ++i) {
      if ((shape.digits_ >> i & 1) != 0) {
        if (!is_digit(record[i])) return;
        time = 10 * time + (record[i] - '0');
      } else if (record[i] != (i == shape.level_ ? level : shape.text_[i])) {
        return;
      }
    }
    by_turn_[count_ % 2][count_ / 2] = time;
  }
}

// Gives up what comes from the first record on that is not later than the one
// before it.
void RecordRun::keep_increasing(std::int64_t after) {
  if (count_ == 0) return;
  const bool first = by_turn_[0][0] > after;
  const bool others = increase(by_turn_[0].data(), by_turn_[1].data(), count_);
  if (first && others) return;
  std::int64_t before = after;
  for (std::size_t i = 0; i < count_; ++i) {
    const std::int64_t time = by_turn_[i % 2][i / 2];
    if (time <= before) {
      count_ = i;
      return;
    }
    before = time;
  }
}

void RecordRun::scale(std::int64_t ticks) {
  if (ticks == 1) return;
  // Nothing beyond the last record: what stands there may not fit.
  for (std::size_t i = 0; i < (count_ + 1) / 2; ++i) by_turn_[0][i] *= ticks;
  for (std::size_t i = 0; i < count_ / 2; ++i) by_turn_[1][i] *= ticks;
}

void RecordRun::keep_until(std::int64_t most) {
  while (count_ > 0 && last() > most) --count_;
}

#if defined(__x86_64__)

// Goes on after what was taken, of which there is an even number.
CLOCKASSAY_AVX2 void RecordRun::take_avx2(const RecordShape& shape,
                                          std::string_view bytes, bool high) {
  const std::size_t size = shape.size_;
  const bool is_long = size > RecordShape::kDigitBytes;
  const std::size_t tail = is_long ? size - RecordShape::kDigitBytes : 0;
  const __m256i places = both_lanes(shape.places_.data());
  const __m256i zeros = both_lanes(shape.zeros_.data());
  const __m256i nine = _mm256_set1_epi8(9);
  const std::size_t first = high ? 1 : 0;
  const __m256i head =
      two_lanes(shape.head_[first].data(), shape.head_[1 - first].data());
  const __m256i head_mask = both_lanes(shape.head_mask_.data());
  const __m256i end =
      two_lanes(shape.tail_[first].data(), shape.tail_[1 - first].data());
  const __m256i end_mask = both_lanes(shape.tail_mask_.data());
  std::size_t count = count_;  // here, so that it stays in a register
  const char* p = bytes.data() + count * size;
  const char* const stop = bytes.data() + bytes.size();
  std::int64_t* odd = by_turn_[0].data() + count / 2;
  std::int64_t* even = by_turn_[1].data() + count / 2;
  // Four at a time, the last of which is read to the end of a vector.
  const std::size_t reach = 3 * size + std::max(size, RecordShape::kDigitBytes);
  while (static_cast<std::size_t>(stop - p) >= reach && count + 4 <= kMost) {
    const __m256i a = two_lanes(p, p + size);
    const __m256i b = two_lanes(p + 2 * size, p + 3 * size);
    const __m256i a_digits =
        _mm256_sub_epi8(_mm256_shuffle_epi8(a, places), zeros);
    const __m256i b_digits =
        _mm256_sub_epi8(_mm256_shuffle_epi8(b, places), zeros);
    __m256i wrong = _mm256_and_si256(
        _mm256_or_si256(_mm256_xor_si256(a, head), _mm256_xor_si256(b, head)),
        head_mask);
    wrong = _mm256_or_si256(wrong,
                            _mm256_or_si256(_mm256_subs_epu8(a_digits, nine),
                                            _mm256_subs_epu8(b_digits, nine)));
    if (is_long) {
      const __m256i a_end = two_lanes(p + tail, p + size + tail);
      const __m256i b_end = two_lanes(p + 2 * size + tail, p + 3 * size + tail);
      wrong = _mm256_or_si256(
          wrong, _mm256_and_si256(_mm256_or_si256(_mm256_xor_si256(a_end, end),
                                                  _mm256_xor_si256(b_end, end)),
                                  end_mask));
    }
    if (_mm256_testz_si256(wrong, wrong) == 0) break;
    const __m256i times = numbers_of_digits(a_digits, b_digits);
    _mm_storeu_si128(reinterpret_cast<__m128i*>(odd),
                     _mm256_castsi256_si128(times));
    _mm_storeu_si128(reinterpret_cast<__m128i*>(even),
                     _mm256_extracti128_si256(times, 1));
    odd += 2;
    even += 2;
    p += 4 * size;
    count += 4;
  }
  count_ = count;
}

// Eight at a time, four in a vector, if they fit.
CLOCKASSAY_AVX512 void RecordRun::take_avx512(const RecordShape& shape,
                                              std::string_view bytes,
                                              bool high) {
  const std::size_t four = 4 * shape.size_;
  if (shape.size_ > RecordShape::kDigitBytes) return;
  constexpr int kAnyDiffers = 0x7E;     // (a ^ c) | (b ^ c)
  constexpr int kMaskedOrThird = 0xEA;  // (a & b) | c
  const __m512i places = sixty_four(shape.four_places_.data());
  const __m512i text = sixty_four(shape.four_[high ? 1 : 0].data());
  const __m512i mask = sixty_four(shape.four_mask_.data());
  const __mmask64 is_digit = shape.four_digits_;
  const __m512i zero = _mm512_set1_epi8('0');
  const __m512i nine = _mm512_set1_epi8(9);
  // Numbers come as the first and the fifth, the second and the sixth …
  const __m512i by_turns = _mm512_setr_epi64(0, 4, 1, 5, 2, 6, 3, 7);
  std::size_t count = 0;
  const char* p = bytes.data();
  const char* const stop = p + bytes.size();
  std::int64_t* odd = by_turn_[0].data();
  std::int64_t* even = by_turn_[1].data();
  while (static_cast<std::size_t>(stop - p) >= four + sizeof(__m512i) &&
         count + 8 <= kMost) {
    const __m512i a = sixty_four(p);
    const __m512i b = sixty_four(p + four);
    const __m512i a_digits = _mm512_maskz_sub_epi8(
        is_digit, _mm512_permutexvar_epi8(places, a), zero);
    const __m512i b_digits = _mm512_maskz_sub_epi8(
        is_digit, _mm512_permutexvar_epi8(places, b), zero);
    const __m512i no_digits = _mm512_or_si512(_mm512_subs_epu8(a_digits, nine),
                                              _mm512_subs_epu8(b_digits, nine));
    const __m512i wrong = _mm512_ternarylogic_epi64(
        _mm512_ternarylogic_epi64(a, b, text, kAnyDiffers), mask, no_digits,
        kMaskedOrThird);
    if (_mm512_test_epi64_mask(wrong, wrong) != 0) break;
    const __m512i times = _mm512_permutexvar_epi64(
        by_turns, numbers_of_digits(a_digits, b_digits));
    _mm256_storeu_si256(reinterpret_cast<__m256i*>(odd),
                        _mm512_castsi512_si256(times));
    _mm256_storeu_si256(reinterpret_cast<__m256i*>(even),
                        _mm512_extracti64x4_epi64(times, 1));
    odd += 4;
    even += 4;
    p += 2 * four;
    count += 8;
  }
  count_ = count;
}

#endif

}  // namespace clockassay
