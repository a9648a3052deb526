// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <span>
#include <string>
#include <string_view>

namespace clockassay {

/// Names as a message lists them: the first few as shown_text(), and how many
/// more there are.
std::string listed_names(std::span<const std::string_view> names);

}  // namespace clockassay
