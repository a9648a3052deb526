// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <bit>
#include <iterator>

#include "capture/vcd_scan.h"
#include "capture/vcd_token.h"

namespace clockassay {
namespace {

constexpr std::size_t kSlotsPerId = 4;  // chosen: most are found at once

void put(VcdScanIds::CharSet& set, char c) {
  const auto code = static_cast<unsigned char>(c);
  set[code & 15] |= static_cast<std::uint8_t>(1u << (code >> 4));
}

bool has(const VcdScanIds::CharSet& set, unsigned char code) {
  return code < 128 && (set[code & 15] >> (code >> 4) & 1) != 0;
}

std::uint64_t key_of(std::string_view id) {
  std::uint64_t key = 0;
  for (std::size_t i = id.size(); i-- > 0;) {
    key = key << 8 | static_cast<unsigned char>(id[i]);
  }
  return key;
}

}  // namespace

VcdScanIds::VcdScanIds(const VcdNets& nets) {
  const std::size_t count = nets.ids.size();
  slots_.resize(std::bit_ceil(std::max<std::size_t>(2, kSlotsPerId * count)));
  shift_ = 64 - std::countr_zero(slots_.size());
  net_of_letter_.fill(kNotKnown);
  for (std::size_t i = 0; i < count; ++i) {
    const std::string_view id = nets.ids.text(i);
    all_short_ = all_short_ && id.size() == 1;
    const std::int32_t net = nets.net_of_id[i];
    const bool one_bit = net >= 0 || net == VcdNets::kNotRead;
    const std::uint64_t key = key_of(id.substr(0, kMostLetters));
    if (!one_bit || id.size() > kMostLetters || id.find('\0') != id.npos) {
      continue;
    }
    std::size_t slot = slot_of(key);
    while (slots_[slot].key != 0) slot = (slot + 1) & (slots_.size() - 1);
    slots_[slot] = {key, net};
    if (id.size() > 1 || static_cast<unsigned char>(id[0]) >= 128) continue;
    net_of_letter_[static_cast<unsigned char>(id[0])] = net;
    put(known_, id[0]);
    if (net >= 0) put(wanted_, id[0]);
  }
  classify();
}

// The bits are in the order of VcdScan::Masks.
void VcdScanIds::classify() {
  for (unsigned code = 0; code < classes_.size(); ++code) {
    const auto c = static_cast<unsigned char>(code);
    const bool blank = is_vcd_blank(static_cast<char>(c));
    const bool is[] = {blank,          !blank && (c < ' ' || c >= 128),
                       c == '#',       c == '0' || c == '1',
                       has(known_, c), has(wanted_, c)};
    for (std::size_t i = 0; i < std::size(is); ++i) {
      if (is[i]) classes_[code] |= static_cast<std::uint8_t>(1u << i);
    }
  }
}

}  // namespace clockassay
