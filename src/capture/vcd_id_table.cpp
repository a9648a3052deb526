// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/vcd_id_table.h"

#include <algorithm>

namespace clockassay {
namespace {

// FNV-1a, 64 bits: identifiers are short.
std::uint64_t hash_of(std::string_view id) {
  std::uint64_t hash = 0xCBF29CE484222325U;
  for (const char c : id) {
    hash ^= static_cast<unsigned char>(c);
    hash *= 0x100000001B3U;
  }
  return hash ^ (hash >> 32);
}

constexpr std::size_t kFirstSlots = 64;  // a power of two; chosen

}  // namespace

VcdIdTable::VcdIdTable() : slots_(kFirstSlots) {}

std::size_t VcdIdTable::add(std::string_view id) {
  const std::uint64_t hash = hash_of(id);
  const std::size_t slot = slot_of(id, hash);
  if (slots_[slot] != 0) return slots_[slot] - 1;
  ids_.push_back({bytes_.size(), id.size(), hash});
  bytes_ += id;
  slots_[slot] = static_cast<std::uint32_t>(ids_.size());
  if (2 * ids_.size() > slots_.size()) grow();
  return ids_.size() - 1;
}

std::optional<std::size_t> VcdIdTable::find(std::string_view id) const {
  const std::uint32_t number = slots_[slot_of(id, hash_of(id))];
  if (number == 0) return std::nullopt;
  return number - 1;
}

bool VcdIdTable::begins_longer(std::string_view id) const {
  return std::ranges::any_of(ids_, [&](const Id& other) {
    return other.size > id.size() && text(other).starts_with(id);
  });
}

// Where `id` is, or where it would go.
std::size_t VcdIdTable::slot_of(std::string_view id, std::uint64_t hash) const {
  const std::size_t mask = slots_.size() - 1;
  std::size_t slot = hash & mask;
  while (slots_[slot] != 0) {
    const Id& there = ids_[slots_[slot] - 1];
    if (there.hash == hash && text(there) == id) break;
    slot = (slot + 1) & mask;
  }
  return slot;
}

void VcdIdTable::grow() {
  slots_.assign(4 * slots_.size(), 0);
  for (std::size_t i = 0; i < ids_.size(); ++i) {
    slots_[slot_of(text(ids_[i]), ids_[i].hash)] =
        static_cast<std::uint32_t>(i + 1);
  }
}

}  // namespace clockassay
