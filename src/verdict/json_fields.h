// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <nlohmann/json.hpp>
#include <optional>
#include <span>
#include <string>
#include <string_view>

#include "clockassay/base/result.h"

namespace clockassay {

/// Nothing, or why not.
using Failure = std::optional<tl::unexpected<Error>>;

/// A kBadSpec about a place of the document.
tl::unexpected<Error> refuse(const std::string& pointer, const std::string& why,
                             std::string hint = {});
/// An error of a reader that knows nothing of JSON, with its place.
tl::unexpected<Error> refuse(const std::string& pointer, const Error& error);

/// "found an object", "found the number 3", …
std::string found(const nlohmann::json& value);

/// Refuses what is no object, and keys that are not known, with the nearest
/// that is.
Failure check_object(const nlohmann::json& value, const std::string& pointer,
                     std::span<const std::string_view> known);

/// Text that is not empty; `example` for the message.
Result<std::string> read_text(const nlohmann::json& value,
                              const std::string& pointer,
                              const std::string& example);
/// Text under `key`, which must be there.
Result<std::string> need_text(const nlohmann::json& object,
                              const std::string& pointer,
                              const std::string& key,
                              const std::string& example);

/// A quantity as text or, bare and so in its SI unit, as a number.
Result<std::string> read_quantity(const nlohmann::json& value,
                                  const std::string& pointer,
                                  const std::string& example);
/// The same under `key`, which must be there.
Result<std::string> need_quantity(const nlohmann::json& object,
                                  const std::string& pointer,
                                  const std::string& key,
                                  const std::string& example);

/// Whether a quantity is written without a unit.
bool is_bare(std::string_view quantity);

}  // namespace clockassay
