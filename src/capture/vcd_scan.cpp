// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/vcd_scan.h"

#include <algorithm>
#include <bit>
#include <cassert>
#include <cstring>

#include "capture/byte_masks.h"
#include "capture/digit_vectors.h"
#include "capture/vcd_token.h"

namespace clockassay {

/// Which of 64 bytes are in a class, the first in bit 0.
struct VcdScan::Masks {
  std::uint64_t blank = 0;
  std::uint64_t control = 0;  ///< below the blank, or not of ASCII
  std::uint64_t hash = 0;     ///< #
  std::uint64_t level = 0;    ///< 0 or 1
  std::uint64_t known = 0;    ///< VcdScanIds::known()
  std::uint64_t wanted = 0;   ///< VcdScanIds::wanted()
};

namespace {

/// Writes base + i for each bit i of a mask, and maybe more; how many bits.
CLOCKASSAY_KERNEL std::size_t put_bits(std::uint64_t mask, std::uint32_t base,
                                       std::uint32_t* to) {
  return for_bits<4>(
      mask, [&](std::size_t i, std::uint32_t bit) { to[i] = base + bit; });
}

}  // namespace

/// By a table.
struct VcdScan::PlainClasses {
  const VcdScanIds* ids;

  CLOCKASSAY_KERNEL static std::size_t put(std::uint64_t mask,
                                           std::uint32_t base,
                                           std::uint32_t* to) {
    return put_bits(mask, base, to);
  }

  template <bool kShort>
  CLOCKASSAY_KERNEL Masks masks(const char* bytes) const {
    const auto& bits = ids->classes();
    std::array<std::uint64_t, 6> found{};
    for (std::size_t i = 0; i < kChunk; i += 8) {
      std::uint64_t eight = 0;
      for (std::size_t j = 0; j < 8; ++j) {
        const auto code = static_cast<unsigned char>(bytes[i + j]);
        eight |= static_cast<std::uint64_t>(bits[code]) << (8 * j);
      }
      for (std::size_t k = 0; k < found.size(); ++k) {
        // Gathers the lowest bits of the eight bytes in the highest byte.
        const std::uint64_t lowest = eight >> k & 0x0101010101010101U;
        found[k] |= (lowest * 0x0102040810204080U >> 56) << i;
      }
    }
    return {found[0], found[1], found[2], found[3], found[4], found[5]};
  }
};

namespace {

/// The eight bytes at `from`, the first lowest.
CLOCKASSAY_KERNEL std::uint64_t load_eight(const char* from) {
  std::uint64_t eight = 0;
  std::memcpy(&eight, from, sizeof eight);
  if constexpr (std::endian::native == std::endian::big) {
    eight = __builtin_bswap64(eight);
  }
  return eight;
}

}  // namespace

/// What of a chunk the next one must know.
struct VcdScan::ChunkBefore {
  std::uint64_t filled = 0;
  std::uint64_t stamps = 0;
  std::uint64_t changes = 0;
};

/// Where in a chunk something is.
struct VcdScan::Tokens {
  std::uint64_t stamps = 0;
  std::uint64_t candidates = 0;  ///< see find
  std::uint64_t wrong = 0;       ///< what ends the scan
};

// In: after  from the beginning of a stamp to the blank behind it
template <bool kShort>
CLOCKASSAY_KERNEL VcdScan::Tokens VcdScan::tokens(const Masks& is,
                                                  std::size_t after,
                                                  ChunkBefore& before) {
  const std::uint64_t filled = ~is.blank;
  const std::uint64_t begins = filled & ~(filled << 1 | before.filled >> 63);
  const std::uint64_t changes = begins & is.level;
  Tokens found;
  found.stamps = begins & is.hash;
  found.candidates = changes;
  found.wrong =
      (begins & ~(is.hash | is.level)) |
      ((found.stamps << after | before.stamps >> (64 - after)) & filled);
  if constexpr (kShort) {
    const std::uint64_t id = changes << 1 | before.changes >> 63;
    const std::uint64_t behind = changes << 2 | before.changes >> 62;
    found.wrong |= (id & ~is.known) | (behind & filled);
    found.candidates = id & is.wanted;
  } else {
    found.wrong |= is.control;
  }
  before = {filled, found.stamps, changes};
  return found;
}

// Where stamps begin, and changes that may be of nets: those of wanted letters
// (kShort), or all. The digits of stamps are looked at later, of which only
// what follows is seen here.
template <bool kShort, class Classes>
CLOCKASSAY_KERNEL void VcdScan::find(const Classes& classes,
                                     std::string_view bytes,
                                     std::size_t digits) {
  // Of a wanted letter, which stands one byte behind, few are in a chunk.
  constexpr std::size_t kCandidates = kShort ? 1 : 4;
  constexpr std::uint32_t kBehind = kShort ? 1 : 0;
  const char* const text = bytes.data();
  std::size_t stamps = 0, candidates = 0, at = 0;
  ChunkBefore before;
  for (; at + kLeastBytes <= bytes.size(); at += kChunk) {
    if (stamps >= kMost || candidates >= kMost) break;
    const Masks is = classes.template masks<kShort>(text + at);
    const Tokens found = tokens<kShort>(is, digits + 1, before);
    const auto base = static_cast<std::uint32_t>(at);
    candidates += for_bits<kCandidates>(
        found.candidates, [&](std::size_t i, std::uint32_t bit) {
          const std::uint64_t lower = (std::uint64_t{1} << bit) - 1;
          candidates_[candidates + i] = {
              base - kBehind + bit,
              static_cast<std::uint32_t>(stamps +
                                         count_bits(found.stamps & lower))};
        });
    stamps += classes.put(found.stamps, base, starts_.data() + stamps);
    if (found.wrong != 0) [[unlikely]] {
      at += lowest_bit(found.wrong);
      break;
    }
  }
  stamps_ = stamps;
  candidate_count_ = candidates;
  // Back to where the token there begins, or the one a blank there ends.
  while (at > 0 && !is_vcd_blank(text[at - 1])) --at;
  end_at(at);
}

void VcdScan::end_at(std::size_t size) {
  size_ = size;
  while (stamps_ > 0 && starts_[stamps_ - 1] >= size) --stamps_;
  while (candidate_count_ > 0 &&
         candidates_[candidate_count_ - 1].position >= size) {
    --candidate_count_;
  }
}

void VcdScan::find_plain(const VcdScanIds& ids, std::string_view bytes,
                         std::size_t digits) {
  const PlainClasses classes{&ids};
  if (ids.all_short()) return find<true>(classes, bytes, digits);
  find<false>(classes, bytes, digits);
}

void VcdScan::take(const VcdScanIds& ids, std::string_view bytes,
                   std::int64_t time, std::size_t digits, SimdLevel simd) {
  assert(digits >= 1 && digits <= kMostDigits);
  // Positions are of 32 bits.
  bytes = bytes.substr(0, std::size_t{1} << 30);
  times_[0] = time;
#if defined(__x86_64__)
  if (simd >= SimdLevel::kAvx2) {
    simd >= SimdLevel::kAvx512 ? find_avx512(ids, bytes, digits)
                               : find_avx2(ids, bytes, digits);
    convert(bytes, digits, convert_avx2(bytes, digits));
    if (!is_ordered_avx2()) keep_ordered();
    return look_up(ids, bytes);
  }
#else
  (void)simd;
#endif
  find_plain(ids, bytes, digits);
  convert(bytes, digits, 0);
  keep_ordered();
  look_up(ids, bytes);
}

// The net of the change at `at`, as VcdScanIds::net_of_key.
std::int32_t VcdScan::net_at(const VcdScanIds& ids, const char* at) {
  if (ids.all_short()) return ids.net_of_letter(at[1]);
  // The lowest byte below '!' ends the identifier: a blank, as others end the
  // scan. Up to it nothing is borrowed.
  const std::uint64_t eight = load_eight(at + 1);
  const std::uint64_t ends =
      (eight - 0x2121212121212121U) & ~eight & 0x8080808080808080U;
  if (ends == 0) return VcdScanIds::kNotKnown;
  const std::uint32_t bits = lowest_bit(ends) & ~7u;
  const std::uint64_t key = eight & ((std::uint64_t{1} << bits) - 1);
  return key == 0 ? VcdScanIds::kNotKnown : ids.net_of_key(key);
}

// Gives up what comes from the first identifier on that is not known.
void VcdScan::look_up(const VcdScanIds& ids, std::string_view bytes) {
  std::size_t found = 0;
  for (std::size_t i = 0; i < candidate_count_; ++i) {
    const auto [position, stamp] = candidates_[i];
    const char* at = bytes.data() + position;
    const std::int32_t net = net_at(ids, at);
    if (net == VcdScanIds::kNotKnown) [[unlikely]] {
      end_at(position);
      break;
    }
    change_times_[found] = times_[stamp];
    nets_[found] = net;
    high_[found] = at[0] == '1' ? 1 : 0;
    if (net < 0) continue;
    ++found;
    last_change_ = position;
  }
  change_count_ = found;
}

#if defined(__x86_64__)

/// By vectors.
struct VcdScan::Avx2Classes {
  // By the lower half of a byte: the blank that has it, or what has not.
  __m256i blanks;
  __m256i known, wanted;

  CLOCKASSAY_AVX2 explicit Avx2Classes(const VcdScanIds& ids)
      : blanks(_mm256_setr_epi8(' ', 0, 0, 0, 0, 0, 0, 0, 0, 9, 10, 11, 12, 13,
                                0, 0, ' ', 0, 0, 0, 0, 0, 0, 0, 0, 9, 10, 11,
                                12, 13, 0, 0)),
        known(both_lanes(ids.known().data())),
        wanted(both_lanes(ids.wanted().data())) {}

  CLOCKASSAY_AVX2 static inline std::size_t put(std::uint64_t mask,
                                                std::uint32_t base,
                                                std::uint32_t* to) {
    return put_bits(mask, base, to);
  }

  template <bool kShort>
  CLOCKASSAY_AVX2 inline Masks masks(const char* bytes) const {
    const Masks low = half<kShort>(bytes);
    const Masks high = half<kShort>(bytes + kChunk / 2);
    return {low.blank | high.blank << 32, low.control | high.control << 32,
            low.hash | high.hash << 32,   low.level | high.level << 32,
            low.known | high.known << 32, low.wanted | high.wanted << 32};
  }

  CLOCKASSAY_AVX2 static inline std::uint64_t bits(__m256i bytes) {
    return static_cast<std::uint32_t>(_mm256_movemask_epi8(bytes));
  }

  template <bool kShort>
  CLOCKASSAY_AVX2 inline Masks half(const char* bytes) const {
    const __m256i c =
        _mm256_loadu_si256(reinterpret_cast<const __m256i*>(bytes));
    // A shuffle gives 0 for bytes from 128 on.
    const __m256i blank = _mm256_cmpeq_epi8(_mm256_shuffle_epi8(blanks, c), c);
    Masks is;
    is.blank = bits(blank);
    is.hash = bits(_mm256_cmpeq_epi8(c, _mm256_set1_epi8('#')));
    is.level = bits(_mm256_cmpeq_epi8(_mm256_or_si256(c, _mm256_set1_epi8(1)),
                                      _mm256_set1_epi8('1')));
    if constexpr (kShort) {
      // A bit for the upper half.
      const __m256i upper = _mm256_shuffle_epi8(
          _mm256_set1_epi64x(static_cast<std::int64_t>(0x8040201008040201U)),
          _mm256_and_si256(_mm256_srli_epi16(c, 4), _mm256_set1_epi8(15)));
      is.known = bits(in_set(known, c, upper));
      is.wanted = bits(in_set(wanted, c, upper));
    } else {
      // Bytes from 128 on are negative.
      is.control = bits(_mm256_andnot_si256(
          blank, _mm256_cmpgt_epi8(_mm256_set1_epi8(' '), c)));
    }
    return is;
  }

  CLOCKASSAY_AVX2 static inline __m256i in_set(__m256i set, __m256i c,
                                               __m256i upper) {
    return _mm256_cmpeq_epi8(
        _mm256_and_si256(_mm256_shuffle_epi8(set, c), upper), upper);
  }
};

CLOCKASSAY_AVX2 void VcdScan::find_avx2(const VcdScanIds& ids,
                                        std::string_view bytes,
                                        std::size_t digits) {
  const Avx2Classes classes(ids);
  if (ids.all_short()) return find<true>(classes, bytes, digits);
  find<false>(classes, bytes, digits);
}

/// By vectors of 64 bytes, which have masks of their own.
struct VcdScan::Avx512Classes {
  __m512i blanks, known, wanted;  // as of Avx2Classes

  CLOCKASSAY_AVX512 explicit Avx512Classes(const VcdScanIds& ids)
      : blanks(four_times(_mm_setr_epi8(' ', 0, 0, 0, 0, 0, 0, 0, 0, 9, 10, 11,
                                        12, 13, 0, 0))),
        known(four_times(sixteen(ids.known().data()))),
        wanted(four_times(sixteen(ids.wanted().data()))) {}

  CLOCKASSAY_AVX512 static inline __m512i four_times(__m128i lane) {
    return _mm512_broadcast_i32x4(lane);
  }
  CLOCKASSAY_AVX512 static inline std::size_t put(std::uint64_t mask,
                                                  std::uint32_t base,
                                                  std::uint32_t* to) {
    return put_positions(mask, base, to);
  }

  template <bool kShort>
  CLOCKASSAY_AVX512 inline Masks masks(const char* bytes) const {
    const __m512i c = sixty_four(bytes);
    Masks is;
    // A shuffle gives 0 for bytes from 128 on.
    is.blank = _mm512_cmpeq_epi8_mask(_mm512_shuffle_epi8(blanks, c), c);
    is.hash = _mm512_cmpeq_epi8_mask(c, _mm512_set1_epi8('#'));
    is.level = _mm512_cmpeq_epi8_mask(_mm512_or_si512(c, _mm512_set1_epi8(1)),
                                      _mm512_set1_epi8('1'));
    if constexpr (kShort) {
      // A bit for the upper half.
      const __m512i upper = _mm512_shuffle_epi8(
          _mm512_set1_epi64(static_cast<std::int64_t>(0x8040201008040201U)),
          _mm512_and_si512(_mm512_srli_epi16(c, 4), _mm512_set1_epi8(15)));
      is.known = _mm512_test_epi8_mask(_mm512_shuffle_epi8(known, c), upper);
      is.wanted = _mm512_test_epi8_mask(_mm512_shuffle_epi8(wanted, c), upper);
    } else {
      // Bytes from 128 on are negative.
      is.control = _mm512_cmpgt_epi8_mask(_mm512_set1_epi8(' '), c) & ~is.blank;
    }
    return is;
  }
};

CLOCKASSAY_AVX512 void VcdScan::find_avx512(const VcdScanIds& ids,
                                            std::string_view bytes,
                                            std::size_t digits) {
  const Avx512Classes classes(ids);
  if (ids.all_short()) return find<true>(classes, bytes, digits);
  find<false>(classes, bytes, digits);
}

#endif

}  // namespace clockassay
