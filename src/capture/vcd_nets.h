// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "capture/vcd_id_table.h"
#include "capture/vcd_vector.h"

namespace clockassay {

/// A bus of which bits are read.
struct VcdBus {
  struct Bit {
    std::size_t net = 0;
    std::int64_t place = 0;  ///< digits to the right of it
  };
  std::string name;  ///< for messages
  std::int64_t width = 0;
  std::vector<Bit> bits;
};

/// What a vector or port value says, to a single bit or to a bus.
struct VcdReading {
  VcdVector::Fit fit;
  std::vector<Level> levels;  ///< per bit that is read, when it fits
};

/// Which identifiers matter. A net is what statements are delivered for.
struct VcdNets {
  static constexpr std::int32_t kNotRead = -1;
  /// What an identifier stands for: a net, kNotRead, or the bus of number
  /// kFirstBus - value.
  static constexpr std::int32_t kFirstBus = -2;

  VcdIdTable ids;
  std::vector<std::int32_t> net_of_id;
  std::vector<std::string> names;  ///< per net, for messages
  std::vector<VcdBus> buses;

  /// What a value says to all that it may be for, as numbers, for when its
  /// identifier stands in the next piece and the value itself does not.
  std::vector<std::int64_t> carry(const VcdVector& value) const;
  /// Digits of the value carried.
  static std::size_t carried_size(const std::vector<std::int64_t>& carried);
  /// What the value carried says to a single bit, and to a bus.
  static VcdReading carried_bit(const std::vector<std::int64_t>& carried);
  VcdReading carried_bus(const std::vector<std::int64_t>& carried,
                         std::size_t bus) const;
};

}  // namespace clockassay
