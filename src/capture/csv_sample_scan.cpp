// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/csv_sample_scan.h"

#include <algorithm>
#include <cassert>

#include "capture/byte_masks.h"
#include "capture/digit_vectors.h"

namespace clockassay {

CsvSampleScan::CsvSampleScan(std::string_view row, std::uint64_t turning,
                             std::uint64_t read)
    : row_size_(row.size()),
      per_row_((kRowUnit + row.size() - 1) / row.size()) {
  assert(!row.empty() && row.size() <= kLongest && (read & ~turning) == 0);
  for (std::size_t i = 0; i < fixed_.size(); ++i) {
    const std::size_t place = i % row_size_;
    const bool turns = (turning >> place & 1) != 0;
    fixed_[i] = static_cast<std::uint8_t>(turns ? ~kTurningBit : 0xFF);
    read_[i] = (read >> place & 1) != 0 ? kTurningBit : 0;
  }
}

void CsvSampleScan::take(std::string_view bytes, std::size_t begin,
                         SimdLevel simd) {
  assert(begin >= row_size_ && begin <= bytes.size());
  const std::size_t size = std::min(bytes.size() - begin, kMostBytes);
  const char* const rows = bytes.data() + begin;
  turn_count_ = 0;
  std::size_t done = 0;
#if defined(__x86_64__)
  if (simd >= SimdLevel::kAvx2) {
    done = simd >= SimdLevel::kAvx512 ? find_avx512(rows, size)
                                      : find_avx2(rows, size);
  }
#else
  (void)simd;
#endif
  done = find_plain(rows, done, size);
  is_full_ = turn_count_ >= kMost;
  rows_ = done / row_size_;
  while (turn_count_ > 0 && at_[turn_count_ - 1] >= rows_ * row_size_) {
    --turn_count_;
  }
  const auto row_size = static_cast<std::uint32_t>(row_size_);
  for (std::size_t i = 0; i < turn_count_; ++i) {
    // A product instead of a quotient. It is too large by less than kLongest
    // per position, all positions together by less than kRowUnit.
    const auto row = static_cast<std::uint32_t>(at_[i] * per_row_ / kRowUnit);
    turns_[i] = {row, at_[i] - row * row_size};
  }
}

// Goes on from byte `from`; the first that is not as it should be, or for whose
// step there is no room.
std::size_t CsvSampleScan::find_plain(const char* rows, std::size_t from,
                                      std::size_t size) {
  std::size_t place = from % row_size_;
  for (std::size_t at = from; at < size; ++at) {
    // Where a vector looks whether there is room.
    if (at % kStep == 0 && turn_count_ >= kMost) return at;
    const auto other =
        static_cast<std::uint8_t>(rows[at] ^ *(rows + at - row_size_));
    if ((other & fixed_[place]) != 0) return at;
    if ((other & read_[place]) != 0) {
      at_[turn_count_++] = static_cast<std::uint32_t>(at);
    }
    place = place + 1 == row_size_ ? 0 : place + 1;
  }
  return size;
}

#if defined(__x86_64__)

namespace {

/// Of those that are in `read`.
CLOCKASSAY_AVX2 inline std::uint32_t lowest_bits(__m256i bytes,
                                                 const std::uint8_t* read) {
  return static_cast<std::uint32_t>(_mm256_movemask_epi8(
      _mm256_slli_epi16(_mm256_and_si256(bytes, thirty_two(read)), 7)));
}

}  // namespace

// 64 bytes at a time, as long as all are as they should be; how many bytes.
CLOCKASSAY_AVX2 std::size_t CsvSampleScan::find_avx2(const char* rows,
                                                     std::size_t size) {
  const std::size_t turn = kStep % row_size_;  // from step to step
  std::size_t place = 0;
  std::size_t at = 0;
  for (; at + kStep <= size && turn_count_ < kMost; at += kStep) {
    const char* const low = rows + at;
    const char* const high = low + kStep / 2;
    const __m256i low_other =
        _mm256_xor_si256(thirty_two(low), thirty_two(low - row_size_));
    const __m256i high_other =
        _mm256_xor_si256(thirty_two(high), thirty_two(high - row_size_));
    const std::uint8_t* const fixed = fixed_.data() + place;
    const __m256i wrong = _mm256_or_si256(
        _mm256_and_si256(low_other, thirty_two(fixed)),
        _mm256_and_si256(high_other, thirty_two(fixed + kStep / 2)));
    if (_mm256_testz_si256(wrong, wrong) == 0) return at;
    const std::uint8_t* const read = read_.data() + place;
    const std::uint64_t turned =
        std::uint64_t{lowest_bits(high_other, read + kStep / 2)} << 32 |
        lowest_bits(low_other, read);
    const auto base = static_cast<std::uint32_t>(at);
    turn_count_ += for_bits<0>(turned, [&](std::size_t i, std::uint32_t bit) {
      at_[turn_count_ + i] = base + bit;
    });
    place += turn;
    place -= place >= row_size_ ? row_size_ : 0;
  }
  return at;
}

CLOCKASSAY_AVX512 std::size_t CsvSampleScan::find_avx512(const char* rows,
                                                         std::size_t size) {
  const std::size_t turn = kStep % row_size_;  // from step to step
  std::size_t place = 0;
  std::size_t at = 0;
  for (; at + kStep <= size && turn_count_ < kMost; at += kStep) {
    const __m512i other = _mm512_xor_si512(sixty_four(rows + at),
                                           sixty_four(rows + at - row_size_));
    if (_mm512_test_epi64_mask(other, sixty_four(fixed_.data() + place)) != 0) {
      return at;
    }
    turn_count_ += put_positions(
        _mm512_test_epi8_mask(other, sixty_four(read_.data() + place)),
        static_cast<std::uint32_t>(at), at_.data() + turn_count_);
    place += turn;
    place -= place >= row_size_ ? row_size_ : 0;
  }
  return at;
}

#endif

}  // namespace clockassay
