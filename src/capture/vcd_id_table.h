// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace clockassay {

/// Identifiers of a VCD as byte strings of any length, numbered in the order
/// in which they were added. Looking one up allocates nothing.
class VcdIdTable {
 public:
  VcdIdTable();
  /// The number of `id`, which is added unless it is there.
  std::size_t add(std::string_view id);
  std::optional<std::size_t> find(std::string_view id) const;
  /// Whether another identifier begins with `id`. Cost: O(identifiers).
  bool begins_longer(std::string_view id) const;
  std::string_view text(std::size_t number) const { return text(ids_[number]); }
  std::size_t size() const { return ids_.size(); }

 private:
  struct Id {
    std::size_t begin;
    std::size_t size;
    std::uint64_t hash;
  };
  std::size_t slot_of(std::string_view id, std::uint64_t hash) const;
  std::string_view text(const Id& id) const {
    return std::string_view(bytes_).substr(id.begin, id.size);
  }
  void grow();

  std::string bytes_;  // of all identifiers, one after the other
  std::vector<Id> ids_;
  std::vector<std::uint32_t> slots_;  // number + 1, or 0; open addressing
};

}  // namespace clockassay
