// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <string_view>

namespace clockassay {

/// A piece of a file as a message shows it: in quotes, shortened, made
/// printable() whatever the file holds.
std::string shown_text(std::string_view text);

}  // namespace clockassay
