// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <string>
#include <string_view>

namespace clockassay {

/// Line ends in a text: LF, CR LF, or CR alone.
std::int64_t count_line_ends(std::string_view text);

/// "stated in line 3": that in which `byte` of the text is.
std::string stated_in_line(std::string_view text, std::size_t byte);

}  // namespace clockassay
