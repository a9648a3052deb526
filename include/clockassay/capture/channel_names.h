// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <span>
#include <string>
#include <string_view>

namespace clockassay {

/// The channel that `wanted`, which means none of `names`, was probably meant
/// for: the first whose last parts it is, as b.clk is of a.b.clk; else the
/// nearest_name() of all; else that of the parts after the last point. Empty
/// when none is near. Cost: O(names).
std::string_view nearest_channel(std::span<const std::string> names,
                                 std::string_view wanted);

/// For a message: `no channel "mco", there are "a", "b" and 9998 more`, the
/// nearest first, a few in all, printable() and cut whatever the names are.
std::string no_such_channel(std::span<const std::string> names,
                            std::string_view wanted);

/// `did you mean "a"?`; empty when none is near.
std::string did_you_mean(std::span<const std::string> names,
                         std::string_view wanted);

}  // namespace clockassay
