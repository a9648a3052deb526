// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <vector>

#include "clockassay/base/result.h"

namespace clockassay {

/// Whether the words mean a database server.
bool is_server_url(const std::string& url);

/// Errors: kUsage for no name at all, a database in memory, a path the library
///         cannot be given, and a URL in which a password may be taken for
///         something else
Result<void> check_store_url(const std::string& url);

/// A URL for messages: a server's without user, password and settings.
std::string shown_url(const std::string& url);

/// What of a URL may be a password, in all its parts, longest first.
std::vector<std::string> secrets_of(const std::string& url);

}  // namespace clockassay
