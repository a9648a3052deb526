// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <span>
#include <string>
#include <string_view>

namespace clockassay {

/// The known name a mistyped one probably meant, for "did you mean": the first
/// that `text` begins, else the one with the fewest edits (insert, delete,
/// replace, swap neighbours), letter case ignored. Empty when none is within a
/// third of its letters. Of equally near names the first in `known` wins.
std::string_view nearest_name(std::string_view text,
                              std::span<const std::string_view> known);

/// "sjw, tbit, pb1": those that are known, for a message.
std::string joined_names(std::span<const std::string_view> names);

}  // namespace clockassay
