// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "clockassay/base/result.h"

namespace clockassay {

/// The indices of the bits of a bus. The leftmost digit of its values belongs
/// to `first`, whichever way the range runs: [7:0], [0:3], [-1:-4].
struct BitRange {
  std::int64_t first = 0;
  std::int64_t last = 0;

  std::int64_t width() const {
    return (first > last ? first - last : last - first) + 1;
  }
  /// How many digits stand to the right of that of bit `index`; nullopt when
  /// it is not in the range.
  std::optional<std::int64_t> place(std::int64_t index) const;
  /// As it is written: "[7:0]".
  std::string text() const;
};

/// Of several bits, each of which can be asked for as a channel by its index:
/// bit 3 of "bus" is "bus[3]".
struct BusName {
  std::string name;  ///< without the range
  BitRange range;
  std::string suffix;  ///< behind the index, such as " (2)" of a second "bus"

  std::string bit(std::int64_t index) const;
  std::string whole() const { return name + range.text() + suffix; }
};

/// Reads a range such as "[7:0]"; nullopt if the text is none. Blanks within
/// do not count. Indices up to 2^40 either way: no bus has more bits.
std::optional<BitRange> parse_bit_range(std::string_view text);

/// Which of the channels `names` the name `wanted` means: indices, rising. A
/// name fits whole; else but for blanks before a bit select such as [0]; else
/// without a select at its end; else by its leaf, the part after the last
/// point; else by its leaf without a select. The first of these rules that fits
/// any decides. This is the only place where a name is matched.
std::vector<std::size_t> matching_channels(std::span<const std::string> names,
                                           std::string_view wanted);

/// The same for each of `wanted`. Cost: O(names + wanted).
std::vector<std::vector<std::size_t>> channels_matching_each(
    std::span<const std::string> names, std::span<const std::string> wanted);

/// One bit of a bus that was asked for.
struct ChosenBit {
  std::size_t bus = 0;     ///< index in the buses
  std::int64_t place = 0;  ///< digits to the right of it
  std::string name;
  std::vector<std::string> asked;  ///< the names given, in their order
};

/// Which of the channels a file declares are meant by the names a user gives.
struct ChannelSelection {
  /// Per declared channel: the names given that mean it, in their order.
  std::vector<std::vector<std::string>> asked;
  std::vector<ChosenBit> bits;  ///< in the order in which they were asked for
  /// Names given that mean none, each once.
  std::vector<std::string> missing;

  /// Indices of the channels that a name means, rising.
  std::vector<std::size_t> chosen() const;
};

/// The bits of `buses` can be asked for like the channels `names`, by the same
/// rule; a channel declared under the very name of a bit goes before the bit.
/// Errors: kUsage when a name means several channels, listing them; kBadData
///         when it means none and these are not skipped, listing those there
///         are, nearest first; kBadData when it means a bus as a whole or a bit
///         that the bus does not have, even if missing ones are skipped.
/// Cost:   O(names + wanted + buses * different indices wanted), and O(buses)
///         for each name that means none
Result<ChannelSelection> select_channels(std::span<const std::string> names,
                                         std::span<const std::string> wanted,
                                         bool skip_missing,
                                         std::span<const BusName> buses = {});

}  // namespace clockassay
