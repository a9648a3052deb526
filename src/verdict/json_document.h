// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <nlohmann/json.hpp>
#include <string>
#include <string_view>

#include "clockassay/base/result.h"

namespace clockassay {

/// JSON text as a tree; // and /* */ comments are allowed. Strict otherwise:
/// a repeated key, numbers beyond a double and nesting beyond what a
/// specification needs are refused.
/// Errors: kBadSpec with line and byte (syntax) or JSON pointer.
Result<nlohmann::json> read_json_document(std::string_view text);

/// `pointer` one step deeper, escaped as RFC 6901 says.
std::string deeper(const std::string& pointer, std::string_view key);
std::string deeper(const std::string& pointer, std::size_t index);

/// How messages name a place: the pointer, or words for the whole document.
std::string place(const std::string& pointer);

}  // namespace clockassay
