// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/csv_sample_scan.h"

#include <algorithm>
#include <cassert>

#include "capture/byte_masks.h"
#include "capture/digit_vectors.h"

namespace clockassay {

CsvSampleScan::CsvSampleScan(std::string_view row, std::uint64_t turning,
                             std::uint64_t read)
    : row_size_(row.size()) {
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
  // Positions are of 32 bits.
  const std::size_t size = std::min(bytes.size() - begin, std::size_t{1} << 30);
  const char* const rows = bytes.data() + begin;
  turn_count_ = 0;
  std::size_t done = 0;
#if defined(__x86_64__)
  if (simd >= SimdLevel::kAvx2) done = find_avx2(rows, size);
#else
  (void)simd;
#endif
  done = find_plain(rows, done, size);
  is_full_ = turn_count_ >= kMost;
  rows_ = done / row_size_;
  std::size_t kept = 0;
  for (; kept < turn_count_; ++kept) {
    const auto row = static_cast<std::uint32_t>(at_[kept] / row_size_);
    if (row >= rows_) break;
    turns_[kept] = {row, static_cast<std::uint32_t>(at_[kept] % row_size_)};
  }
  turn_count_ = kept;
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

// 32 bytes at a time, as long as all are as they should be; how many bytes.
CLOCKASSAY_AVX2 std::size_t CsvSampleScan::find_avx2(const char* rows,
                                                     std::size_t size) {
  const std::size_t turn = kStep % row_size_;  // from step to step
  std::size_t place = 0;
  std::size_t at = 0;
  for (; at + kStep <= size && turn_count_ < kMost; at += kStep) {
    const __m256i other = _mm256_xor_si256(thirty_two(rows + at),
                                           thirty_two(rows + at - row_size_));
    if (_mm256_testz_si256(other, thirty_two(fixed_.data() + place)) == 0) {
      return at;
    }
    const __m256i turned = _mm256_slli_epi16(
        _mm256_and_si256(other, thirty_two(read_.data() + place)), 7);
    const auto base = static_cast<std::uint32_t>(at);
    turn_count_ +=
        for_bits<0>(static_cast<std::uint32_t>(_mm256_movemask_epi8(turned)),
                    [&](std::size_t i, std::uint32_t bit) {
                      at_[turn_count_ + i] = base + bit;
                    });
    place += turn;
    place -= place >= row_size_ ? row_size_ : 0;
  }
  return at;
}

#endif

}  // namespace clockassay
