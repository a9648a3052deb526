// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "clockassay/base/result.h"
#include "clockassay/history/stored_row.h"

namespace clockassay {

/// "2026-01-05T10:00:00Z" or "2026-01-05" as seconds since 1970 UTC.
/// Errors: kUsage
Result<double> parse_utc(std::string_view text);

/// The other way, to the second.
std::string utc_text(double seconds);

/// When a capture was taken: as its tag "taken_at" says, else when the file was
/// last written, else now.
/// In:     the tag, if there is one, is right
double taken_at(const std::string& path, const std::vector<Tag>& tags);

}  // namespace clockassay
