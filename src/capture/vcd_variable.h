// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>

#include "capture/channel_selection.h"

namespace clockassay {

/// One $var of a header.
struct VcdVar {
  std::string name;      ///< scopes and reference, joined by points
  std::size_t id = 0;    ///< number in VcdHeader::ids
  std::size_t byte = 0;  ///< where its $var stands
  /// Why neither it nor a bit of it can be a clock, such as "a real number";
  /// empty if it can.
  std::string unusable;
  /// Of a bus: its bits, one of which may be a clock; then the name is without
  /// the range. Absent: one bit.
  std::optional<BitRange> bits;
  bool range_declared = true;  ///< else [width-1:0] was taken
};

/// What the words of a $var say.
struct VcdDeclaration {
  VcdVar var;           ///< without id and byte, which the words do not know
  std::string_view id;  ///< as it is written
  std::int64_t width = 0;
  bool nameless = false;
};

/// Words of a section as they read: "q [3]" is q[3], a select may be a word of
/// its own.
std::string joined_words(std::span<const std::string_view> words);

/// Reads the words between $var and its $end: IEEE 1364-2005, 18.2.3.8 and
/// 18.4. `path`: the scopes, each with a point behind. nullopt when type, width
/// or identifier is missing or the width is none.
std::optional<VcdDeclaration> read_vcd_variable(
    std::span<const std::string_view> words, std::string_view path);

}  // namespace clockassay
