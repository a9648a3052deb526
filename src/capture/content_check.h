// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <string_view>

#include "clockassay/base/result.h"

namespace clockassay {

/// The bytes after a UTF-8 byte order mark, if there is one at the front.
std::string_view without_byte_order_mark(std::string_view text);

/// Why content that begins like this can be no capture at all, whatever its
/// format: empty, blank, compressed, UTF-16, a web page, binary. nullopt when
/// it is plain text. `whole`: the prefix is all there is.
std::optional<Error> refuse_content(std::string_view prefix, bool whole);

}  // namespace clockassay
