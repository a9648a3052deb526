// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <string_view>

namespace clockassay {

/// Line ends in a text: LF, CR LF, or CR alone.
std::int64_t count_line_ends(std::string_view text);

}  // namespace clockassay
