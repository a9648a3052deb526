// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "capture/channel_selection.h"

namespace clockassay {

/// A column of words as a bus, whose bits can be asked for: with the range that
/// the column's name ends in, such as "d[15:8]", "d[15..8]", "d(15 downto 8)"
/// or "d<15:8>", else of `width` bits from 0.
BusName bus_of(const std::string& column_name, int width);

/// How many bits the range has that the name ends in; nullopt: it has none.
std::optional<int> declared_width(std::string_view column_name);

/// "data" of "data[3]"; empty when no index stands at the end.
std::string name_before_index(std::string_view wanted);

}  // namespace clockassay
