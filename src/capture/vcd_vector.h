// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <optional>
#include <string_view>

#include "clockassay/capture/level_event.h"

namespace clockassay {

/// The level of a state letter of a port (IEEE 1364-2005, 18.4.3.1), which is
/// another alphabet than that of plain values: U drives high. What nobody
/// drives, and what two drive against each other, is unknown. nullopt for any
/// other letter.
std::optional<Level> vcd_port_level(char letter);

/// The digits of a value of several bits: behind b, or behind p of a port.
/// Refers to the text it was made from.
class VcdVector {
 public:
  enum class Fault {
    kNone,
    kLetter,   ///< a digit that means nothing, or no digit at all
    kTooLong,  ///< more digits than bits, and not mere repetitions
    kTooShort  ///< fewer, and what the others are is not laid down
  };
  /// How it suits a bus.
  struct Fit {
    Fault fault = Fault::kNone;
    bool unusual = false;  ///< tolerated
  };

  VcdVector() = default;
  VcdVector(std::string_view digits, bool port);

  std::size_t size() const { return digits_.size(); }
  /// Whether it is a value of `width` bits. Cost: O(digits).
  Fit fit(std::int64_t width) const;
  /// Of the bit that `place` digits stand right of. A short value is extended
  /// on the left as IEEE 1364-2005, 18.2.1 says: by 0 if it begins with 0 or 1,
  /// else by its first digit. In: a value that fits a bus that has the bit.
  Level level(std::int64_t place) const;

 private:
  std::optional<Level> letter_level(char letter) const;

  std::string_view digits_;  // without a second prefix
  bool port_ = false;
  bool prefixed_twice_ = false;
};

}  // namespace clockassay
