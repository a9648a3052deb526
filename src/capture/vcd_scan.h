// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <span>
#include <string_view>
#include <vector>

#include "base/simd_level.h"
#include "capture/vcd_nets.h"

namespace clockassay {

/// The identifiers of a file in the form in which a VcdScan looks them up. It
/// knows those of one bit that are no longer than kMostLetters.
class VcdScanIds {
 public:
  static constexpr std::size_t kMostLetters = 7;
  static constexpr std::int32_t kNotKnown = -2;

  explicit VcdScanIds(const VcdNets& nets);

  /// A set of characters below 128. By the lower half of a character: which
  /// upper halves are in it, a bit for each.
  using CharSet = std::array<std::uint8_t, 16>;

  /// Every declared identifier has one letter; those not known are no matter.
  bool all_short() const { return all_short_; }
  /// Identifiers of one letter that are known, and of these those of nets.
  const CharSet& known() const { return known_; }
  const CharSet& wanted() const { return wanted_; }
  /// In which of the classes of VcdScan a byte is, a bit for each.
  const std::array<std::uint8_t, 256>& classes() const { return classes_; }
  std::int32_t net_of_letter(char letter) const {
    return net_of_letter_[static_cast<unsigned char>(letter)];
  }
  /// The net of an identifier, VcdNets::kNotRead or kNotKnown.
  /// In: key  its characters, the first in the lowest byte, then zeros
  std::int32_t net_of_key(std::uint64_t key) const {
    std::size_t slot = slot_of(key);
    while (slots_[slot].key != key) {
      if (slots_[slot].key == 0) return kNotKnown;
      slot = (slot + 1) & (slots_.size() - 1);
    }
    return slots_[slot].net;
  }

 private:
  struct Slot {
    std::uint64_t key = 0;
    std::int32_t net = 0;
  };
  std::size_t slot_of(std::uint64_t key) const {
    return (key * 0x9E3779B97F4A7C15U) >> shift_;  // Fibonacci hashing
  }

  void classify();

  bool all_short_ = true;
  CharSet known_{}, wanted_{};
  std::array<std::uint8_t, 256> classes_{};
  std::array<std::int32_t, 256> net_of_letter_;
  std::vector<Slot> slots_;  // open addressing; a power of two
  int shift_ = 0;
};

/// Takes stamps and changes to 0 or 1 many at a time: classes of bytes become
/// masks of 64 bits, in which tokens are found without looking at each, and
/// changes of nets that are not read are passed over.
class VcdScan {
 public:
  /// Bytes looked at in one step.
  static constexpr std::size_t kChunk = 64;
  /// Nothing is taken from less.
  static constexpr std::size_t kLeastBytes = kChunk + 17;
  static constexpr std::size_t kMostDigits = 16;

  /// Changes of nets to 0 or 1, in file order; each field of all of them.
  struct Changes {
    std::span<const std::int64_t> times;
    std::span<const std::int32_t> nets;
    std::span<const std::uint8_t> high;  ///< 1: to 1
    std::uint32_t last_position = 0;     ///< of the first byte of the last one
  };

  /// Takes tokens from the beginning of `bytes`, where one begins, as long as
  /// each of them is a stamp of `digits` digits, not earlier than the one
  /// before, or 0 or 1 and an identifier known, and a blank follows. Ends
  /// anywhere before what is no such token. The same for all levels of
  /// instructions.
  /// In: time    of the stamp before
  ///     digits  1 … kMostDigits
  void take(const VcdScanIds& ids, std::string_view bytes, std::int64_t time,
            std::size_t digits, SimdLevel simd);

  /// Bytes of the tokens taken, with the blanks behind them.
  std::size_t size() const { return size_; }
  /// The last stamp, or the one before if none was taken.
  std::int64_t last_time() const { return times_[stamps_]; }
  Changes changes() const {
    return {{change_times_.data(), change_count_},
            {nets_.data(), change_count_},
            {high_.data(), change_count_},
            last_change_};
  }

 private:
  // A change whose net is not looked up yet.
  struct Candidate {
    std::uint32_t position;
    std::uint32_t stamp;  // index into times_
  };
  struct Masks;
  struct ChunkBefore;
  struct Tokens;
  struct PlainClasses;
  struct Avx2Classes;
  struct Avx512Classes;

  void find_plain(const VcdScanIds& ids, std::string_view bytes,
                  std::size_t digits);
  void find_avx2(const VcdScanIds& ids, std::string_view bytes,
                 std::size_t digits);
  void find_avx512(const VcdScanIds& ids, std::string_view bytes,
                   std::size_t digits);
  template <bool kShort>
  static Tokens tokens(const Masks& is, std::size_t after, ChunkBefore& before);
  template <bool kShort, class Classes>
  void find(const Classes& classes, std::string_view bytes, std::size_t digits);
  void end_at(std::size_t size);
  std::size_t convert_avx2(std::string_view bytes, std::size_t digits);
  void convert(std::string_view bytes, std::size_t digits, std::size_t from);
  bool is_ordered_avx2() const;
  void keep_ordered();
  static std::int32_t net_at(const VcdScanIds& ids, const char* at);
  void look_up(const VcdScanIds& ids, std::string_view bytes);

  static constexpr std::size_t kMost = 1024;  // chosen: all of it stays in L1
  // Those of a chunk more, and what is written beyond the last.
  static constexpr std::size_t kRoom = kMost + kChunk + 4;

  std::size_t size_ = 0;
  std::size_t stamps_ = 0;
  std::size_t candidate_count_ = 0;
  std::size_t change_count_ = 0;
  std::uint32_t last_change_ = 0;
  std::array<std::uint32_t, kRoom> starts_;    // of stamps
  std::array<std::int64_t, kRoom + 1> times_;  // the one before, then theirs
  std::array<Candidate, kRoom> candidates_;
  std::array<std::int64_t, kRoom> change_times_;
  std::array<std::int32_t, kRoom> nets_;
  std::array<std::uint8_t, kRoom> high_;
};

}  // namespace clockassay
