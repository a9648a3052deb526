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
CLOCKASSAY_KERNEL bool increase(const std::int64_t* odd,
                                const std::int64_t* even, std::size_t count) {
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

bool increase_plain(const std::int64_t* odd, const std::int64_t* even,
                    std::size_t count) {
  return increase(odd, even, count);
}

CLOCKASSAY_AVX2 bool increase_avx2(const std::int64_t* odd,
                                   const std::int64_t* even,
                                   std::size_t count) {
  return increase(odd, even, count);
}

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
}

void RecordRun::take(const RecordShape& shape, std::string_view bytes,
                     bool high, std::int64_t after, SimdLevel simd) {
  count_ = 0;
#if defined(__x86_64__)
  if (simd >= SimdLevel::kAvx2) take_avx2(shape, bytes, high);
#endif
  take_plain(shape, bytes, high);
  keep_increasing(after, simd);
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
void RecordRun::keep_increasing(std::int64_t after, SimdLevel simd) {
  if (count_ == 0) return;
  const bool first = by_turn_[0][0] > after;
  const bool others =
      simd >= SimdLevel::kAvx2
          ? increase_avx2(by_turn_[0].data(), by_turn_[1].data(), count_)
          : increase_plain(by_turn_[0].data(), by_turn_[1].data(), count_);
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
  const char* p = bytes.data();
  const char* const stop = p + bytes.size();
  std::int64_t* odd = by_turn_[0].data();
  std::int64_t* even = by_turn_[1].data();
  // Four at a time, the last of which is read to the end of a vector.
  const std::size_t reach = 3 * size + std::max(size, RecordShape::kDigitBytes);
  while (static_cast<std::size_t>(stop - p) >= reach && count_ + 4 <= kMost) {
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
    if (_mm256_testz_si256(wrong, wrong) == 0) return;
    const __m256i times = numbers_of_digits(a_digits, b_digits);
    _mm_storeu_si128(reinterpret_cast<__m128i*>(odd),
                     _mm256_castsi256_si128(times));
    _mm_storeu_si128(reinterpret_cast<__m128i*>(even),
                     _mm256_extracti128_si256(times, 1));
    odd += 2;
    even += 2;
    p += 4 * size;
    count_ += 4;
  }
}

#endif

}  // namespace clockassay
