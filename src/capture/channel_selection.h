// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "clockassay/base/result.h"

namespace clockassay {

/// A name without its scopes: what follows the last point.
std::string_view leaf_name(std::string_view name);
/// A name without a bit select such as [0] or [3:0] at its end.
std::string_view without_select(std::string_view name);

/// Which of the channels a file declares are meant by the names a user gives:
/// indices into `names`, rising, each once. A name is matched whole; else
/// without a select at its end; else by its leaf; the first of these rules
/// that fits decides.
/// Errors: kBadData when none fits (naming those there are, nearest first) or
///         when a rule fits several.
Result<std::vector<std::size_t>> select_channels(
    std::span<const std::string> names, std::span<const std::string> wanted);

}  // namespace clockassay
