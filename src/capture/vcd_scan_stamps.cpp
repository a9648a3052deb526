// SPDX-License-Identifier: GPL-3.0-or-later
// The times of the stamps that a scan has found.
#include "base/ascii_digit.h"
#include "capture/digit_vectors.h"
#include "capture/vcd_scan.h"

namespace clockassay {

// Goes on after what was converted, up to what is no number.
void VcdScan::convert(std::string_view bytes, std::size_t digits,
                      std::size_t from) {
  for (std::size_t i = from; i < stamps_; ++i) {
    const char* at = bytes.data() + starts_[i] + 1;
    std::int64_t time = 0;
    for (std::size_t k = 0; k < digits; ++k) {
      if (!is_digit(at[k])) return end_at(starts_[i]);
      time = 10 * time + (at[k] - '0');
    }
    times_[i + 1] = time;
  }
}

// Gives up what comes from the first stamp on that is earlier than the one
// before.
void VcdScan::keep_ordered() {
  std::size_t i = 0;
  while (i < stamps_ && times_[i + 1] >= times_[i]) ++i;
  if (i < stamps_) end_at(starts_[i]);
}

#if defined(__x86_64__)

// Whether no stamp is earlier than the one before.
CLOCKASSAY_AVX2 bool VcdScan::is_ordered_avx2() const {
  std::size_t i = 0;
  __m256i earlier = _mm256_setzero_si256();
  for (; i + 4 <= stamps_; i += 4) {
    const auto* at = reinterpret_cast<const __m256i*>(times_.data() + i);
    const auto* next = reinterpret_cast<const __m256i*>(times_.data() + i + 1);
    earlier = _mm256_or_si256(
        earlier,
        _mm256_cmpgt_epi64(_mm256_loadu_si256(at), _mm256_loadu_si256(next)));
  }
  bool ordered = _mm256_testz_si256(earlier, earlier) != 0;
  for (; i < stamps_; ++i) ordered = ordered && times_[i] <= times_[i + 1];
  return ordered;
}

// Four at a time, as long as all are numbers; how many.
CLOCKASSAY_AVX2 std::size_t VcdScan::convert_avx2(std::string_view bytes,
                                                  std::size_t digits) {
  constexpr std::uint8_t kNothing = 0x80;  // a byte shuffle gives 0 for it
  alignas(16) std::array<std::uint8_t, kMostDigits> to{}, zero{};
  for (std::size_t i = 0; i < kMostDigits; ++i) {
    const bool digit = i + digits >= kMostDigits;
    to[i] =
        digit ? static_cast<std::uint8_t>(i + digits - kMostDigits) : kNothing;
    zero[i] = digit ? '0' : 0;
  }
  const __m256i places = both_lanes(to.data());
  const __m256i zeros = both_lanes(zero.data());
  const __m256i nine = _mm256_set1_epi8(9);
  const char* const text = bytes.data() + 1;
  std::size_t i = 0;
  for (; i + 4 <= stamps_; i += 4) {
    const std::uint32_t* at = starts_.data() + i;
    const __m256i a = _mm256_sub_epi8(
        _mm256_shuffle_epi8(two_lanes(text + at[0], text + at[2]), places),
        zeros);
    const __m256i b = _mm256_sub_epi8(
        _mm256_shuffle_epi8(two_lanes(text + at[1], text + at[3]), places),
        zeros);
    const __m256i wrong =
        _mm256_or_si256(_mm256_subs_epu8(a, nine), _mm256_subs_epu8(b, nine));
    if (_mm256_testz_si256(wrong, wrong) == 0) break;
    _mm256_storeu_si256(reinterpret_cast<__m256i*>(times_.data() + i + 1),
                        numbers_of_digits(a, b));
  }
  return i;
}

#endif

}  // namespace clockassay
