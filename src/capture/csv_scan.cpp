// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/csv_scan.h"

#include <algorithm>
#include <cassert>

#include "base/ascii_digit.h"
#include "capture/byte_masks.h"
#include "capture/digit_vectors.h"

namespace clockassay {
namespace {

constexpr std::size_t kTimeBytes = CsvScanShape::kTimeBytes;
constexpr std::uint8_t kNothing = 0x80;  // a byte shuffle gives 0 for it

}  // namespace

CsvScanShape::CsvScanShape(std::string_view rest, std::uint64_t turning,
                           char mark, std::size_t decimals)
    : size_(rest.size()), decimals_(decimals), mark_(mark) {
  assert(!rest.empty() && rest.size() <= kMostRest && decimals < kTimeBytes);
  for (std::size_t i = 0; i < size_; ++i) {
    const std::size_t to = kMostRest - size_ + i;
    const bool turns = (turning >> i & 1) != 0;
    text_[to] = static_cast<std::uint8_t>(rest[i]);
    fixed_[to] = static_cast<std::uint8_t>(turns ? ~kTurningBit : 0xFF);
    if (turns) turning_ |= level_bit(i);
  }
  const std::size_t whole = kTimeBytes - decimals;
  for (std::size_t at = 0; at < places_.size(); ++at) {
    places_[at].fill(kNothing);
    // Times with more digits than there is room for are not taken.
    for (std::size_t i = 0; i < std::min(at, whole); ++i) {
      places_[at][whole - 1 - i] = static_cast<std::uint8_t>(at - 1 - i);
    }
    for (std::size_t i = 0; i < decimals && at + 1 + i < kTimeBytes; ++i) {
      places_[at][whole + i] = static_cast<std::uint8_t>(at + 1 + i);
    }
  }
}

void CsvScan::take(const CsvScanShape& shape, std::string_view bytes,
                   std::size_t begin, std::int64_t time, std::uint64_t levels,
                   const CsvSteps& steps, SimdLevel simd) {
  assert(begin >= kLeastBefore && begin <= bytes.size() && steps.least >= 1);
  // Positions are of 32 bits.
  const std::string_view rows = bytes.substr(begin, std::size_t{1} << 30);
  ends_[0] = 0;
  times_[0] = time;
  levels_[0] = levels;
  std::size_t done = 0;
#if defined(__x86_64__)
  if (simd >= SimdLevel::kAvx2) {
    simd >= SimdLevel::kAvx512 ? find_avx512(shape, rows)
                               : find_avx2(shape, rows);
    if (simd >= SimdLevel::kAvx512) done = take_rows_avx512(shape, rows.data());
    done = take_rows_avx2(shape, rows.data(), done);
  } else {
    find_plain(shape, rows);
  }
#else
  (void)simd;
  find_plain(shape, rows);
#endif
  while (done < rows_ && take_row(shape, rows.data(), done)) ++done;
  rows_ = done;
#if defined(__x86_64__)
  if (simd < SimdLevel::kAvx2 || !steps_fit_avx2(steps)) keep_steps(steps);
  if (simd >= SimdLevel::kAvx512) return find_changes_avx512();
#else
  keep_steps(steps);
#endif
  find_changes();
}

// Where rows end: behind the byte that ends the rest.
void CsvScan::find_plain(const CsvScanShape& shape, std::string_view rows) {
  const auto end = static_cast<char>(shape.text_.back());
  rows_ = 0;
  for (std::size_t at = 0; at + kLeastBytes <= rows.size() && rows_ < kMost;
       at += kChunk) {
    for (std::size_t i = at; i < at + kChunk; ++i) {
      if (rows[i] == end) ends_[++rows_] = static_cast<std::uint32_t>(i + 1);
    }
  }
}

// Row i alone, unless something of it is not as it should be.
bool CsvScan::take_row(const CsvScanShape& shape, const char* rows,
                       std::size_t i) {
  const std::size_t size = ends_[i + 1] - ends_[i];
  if (size <= shape.size_ || size - shape.size_ > kTimeBytes) return false;
  const std::string_view time(rows + ends_[i], size - shape.size_);
  const std::size_t mark = std::min(time.find(shape.mark_), time.size());
  const std::size_t decimals = time.size() - std::min(mark + 1, time.size());
  if (mark == 0 || mark > kTimeBytes - shape.decimals_ ||
      decimals > shape.decimals_ || mark + 1 == time.size()) {
    return false;
  }
  std::int64_t number = 0;
  for (std::size_t k = 0; k < time.size(); ++k) {
    if (k == mark) continue;
    if (!is_digit(time[k])) return false;
    number = 10 * number + (time[k] - '0');
  }
  for (std::size_t k = decimals; k < shape.decimals_; ++k) number *= 10;
  const char* rest = rows + ends_[i + 1] - CsvScanShape::kMostRest;
  std::uint64_t levels = 0;
  for (std::size_t k = CsvScanShape::kMostRest - shape.size_;
       k < CsvScanShape::kMostRest; ++k) {
    const auto byte = static_cast<std::uint8_t>(rest[k]);
    if (((byte ^ shape.text_[k]) & shape.fixed_[k]) != 0) return false;
    levels |= static_cast<std::uint64_t>(byte & kTurningBit) << k;
  }
  times_[i + 1] = number;
  levels_[i + 1] = levels & shape.turning_;
  decimals_[i] = static_cast<std::uint8_t>(decimals);
  return true;
}

// Gives up what comes from the first other step on.
void CsvScan::keep_steps(const CsvSteps& steps) {
  std::size_t i = 0;
  for (; i < rows_; ++i) {
    const std::int64_t step = times_[i + 1] - times_[i];
    if (step < steps.least || step > steps.most) break;
  }
  rows_ = i;
}

void CsvScan::find_changes() {
  std::size_t found = 0;
  for (std::size_t i = 1; i <= rows_; ++i) {
    change_times_[found] = times_[i];
    change_levels_[found] = levels_[i];
    found += levels_[i] != levels_[i - 1] ? 1U : 0U;
  }
  changes_ = found;
}

#if defined(__x86_64__)

namespace {

/// The first n of sixteen bytes from kFirst + 16 - n on.
alignas(32) constexpr auto kFirst = [] {
  std::array<std::uint8_t, 2 * kTimeBytes> bytes{};
  for (std::size_t i = 0; i < kTimeBytes; ++i) bytes[i] = 0xFF;
  return bytes;
}();

/// Which of 32 bytes equal those of `other`.
CLOCKASSAY_AVX2 inline std::uint32_t equal_bits(const char* at, __m256i other) {
  return static_cast<std::uint32_t>(
      _mm256_movemask_epi8(_mm256_cmpeq_epi8(thirty_two(at), other)));
}

}  // namespace

CLOCKASSAY_AVX2 void CsvScan::find_avx2(const CsvScanShape& shape,
                                        std::string_view rows) {
  const __m256i end = _mm256_set1_epi8(static_cast<char>(shape.text_.back()));
  std::size_t found = 0;
  for (std::size_t at = 0; at + kLeastBytes <= rows.size() && found < kMost;
       at += kChunk) {
    const char* chunk = rows.data() + at;
    const std::uint64_t mask =
        std::uint64_t{equal_bits(chunk + kChunk / 2, end)} << 32 |
        equal_bits(chunk, end);
    const auto behind = static_cast<std::uint32_t>(at + 1);
    found += for_bits<4>(mask, [&](std::size_t i, std::uint32_t bit) {
      ends_[found + 1 + i] = behind + bit;
    });
  }
  rows_ = found;
}

/// What is seen of rows by vectors.
struct CsvScan::RowLook {
  const CsvScanShape* shape;
  __m128i mark;
  __m256i text_low, text_high, fixed_low, fixed_high;
  bool is_long;  // the rest is longer than a vector
  // Not 0 once something is not as it should be.
  __m256i wrong;
  std::uint32_t wrong_size = 0;

  CLOCKASSAY_AVX2 explicit RowLook(const CsvScanShape& of)
      : shape(&of),
        mark(_mm_set1_epi8(of.mark_)),
        text_low(thirty_two(of.text_.data())),
        text_high(thirty_two(of.text_.data() + 32)),
        fixed_low(thirty_two(of.fixed_.data())),
        fixed_high(thirty_two(of.fixed_.data() + 32)),
        is_long(of.size_ > 32),
        wrong(_mm256_setzero_si256()) {}

  // The digits of a time of `size` bytes, of which not all are digits if that
  // is found wrong; how many are decimals.
  CLOCKASSAY_AVX2 inline __m128i time(const char* at, std::uint32_t size,
                                      std::uint8_t& decimals) {
    const auto most = static_cast<std::uint32_t>(kTimeBytes);
    const std::uint32_t n = std::min(size, most);
    const __m128i bytes = sixteen(at);
    const __m128i digits =
        _mm_and_si128(_mm_sub_epi8(bytes, _mm_set1_epi8('0')),
                      sixteen(kFirst.data() + (kTimeBytes - n)));
    const auto marks = static_cast<std::uint32_t>(
        _mm_movemask_epi8(_mm_cmpeq_epi8(bytes, mark)));
    const auto place =
        static_cast<std::uint32_t>(__builtin_ctz(marks | 1u << n));
    const std::uint32_t behind = n - place;  // the mark and decimals
    const std::uint32_t count = behind - (behind != 0 ? 1 : 0);
    const auto full = static_cast<std::uint32_t>(shape->decimals_);
    wrong_size |= static_cast<std::uint32_t>(size != n) |
                  static_cast<std::uint32_t>(place == 0) |
                  static_cast<std::uint32_t>(place > most - full) |
                  static_cast<std::uint32_t>(count > full) |
                  static_cast<std::uint32_t>(behind == 1);
    decimals = static_cast<std::uint8_t>(count);
    return _mm_shuffle_epi8(digits, sixteen(shape->places_[place].data()));
  }

  // The levels of the rest that ends before `end`.
  CLOCKASSAY_AVX2 inline std::uint64_t rest(const char* end) {
    const __m256i high = thirty_two(end - 32);
    wrong = _mm256_or_si256(
        wrong, _mm256_and_si256(_mm256_xor_si256(high, text_high), fixed_high));
    std::uint64_t levels = std::uint64_t{lowest_bits(high)} << 32;
    if (is_long) {
      const __m256i low = thirty_two(end - 64);
      wrong = _mm256_or_si256(
          wrong, _mm256_and_si256(_mm256_xor_si256(low, text_low), fixed_low));
      levels |= lowest_bits(low);
    }
    return levels & shape->turning_;
  }

  // Of each byte.
  CLOCKASSAY_AVX2 static inline std::uint32_t lowest_bits(__m256i bytes) {
    return static_cast<std::uint32_t>(
        _mm256_movemask_epi8(_mm256_slli_epi16(bytes, 7)));
  }
};

// Goes on from row `from`, four at a time, as long as all is as it should be;
// up to which row.
CLOCKASSAY_AVX2 std::size_t CsvScan::take_rows_avx2(const CsvScanShape& shape,
                                                    const char* rows,
                                                    std::size_t from) {
  RowLook look(shape);
  const auto rest = static_cast<std::uint32_t>(shape.size_);
  const __m256i nine = _mm256_set1_epi8(9);
  std::size_t i = from;
  for (; i + 4 <= rows_; i += 4) {
    __m128i digits[4];
    for (std::size_t k = 0; k < 4; ++k) {
      const std::uint32_t begin = ends_[i + k], end = ends_[i + k + 1];
      // Of a row shorter than the rest it is too long.
      digits[k] = look.time(rows + begin, end - begin - rest, decimals_[i + k]);
      levels_[i + k + 1] = look.rest(rows + end);
    }
    const __m256i a = _mm256_set_m128i(digits[2], digits[0]);
    const __m256i b = _mm256_set_m128i(digits[3], digits[1]);
    const __m256i wrong = _mm256_or_si256(
        look.wrong,
        _mm256_or_si256(_mm256_subs_epu8(a, nine), _mm256_subs_epu8(b, nine)));
    if (_mm256_testz_si256(wrong, wrong) == 0 || look.wrong_size != 0) break;
    _mm256_storeu_si256(reinterpret_cast<__m256i*>(times_.data() + i + 1),
                        numbers_of_digits(a, b));
  }
  return i;
}

CLOCKASSAY_AVX2 bool CsvScan::steps_fit_avx2(const CsvSteps& steps) const {
  const __m256i least = _mm256_set1_epi64x(steps.least);
  const __m256i most = _mm256_set1_epi64x(steps.most);
  __m256i wrong = _mm256_setzero_si256();
  std::size_t i = 0;
  for (; i + 4 <= rows_; i += 4) {
    const __m256i step = _mm256_sub_epi64(thirty_two(times_.data() + i + 1),
                                          thirty_two(times_.data() + i));
    wrong =
        _mm256_or_si256(wrong, _mm256_or_si256(_mm256_cmpgt_epi64(least, step),
                                               _mm256_cmpgt_epi64(step, most)));
  }
  bool fit = _mm256_testz_si256(wrong, wrong) != 0;
  for (; i < rows_; ++i) {
    const std::int64_t step = times_[i + 1] - times_[i];
    fit = fit && step >= steps.least && step <= steps.most;
  }
  return fit;
}

#endif

}  // namespace clockassay
