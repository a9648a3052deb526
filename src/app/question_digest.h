// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>

#include "app/command_line.h"
#include "clockassay/base/result.h"

namespace clockassay {

/// Forty digits that are others where captures of a folder would be read or
/// judged by something else: the specification, the instrument, options.
/// Errors: those of reading these files again
Result<std::string> digest_of_question(const CommandLine& line);

/// SHA-1 of a text as hexadecimal digits: names things, guards nothing.
std::string sha1_of(const std::string& text);

/// The same of the bytes of a file; empty where it cannot be read again, such
/// as a pipe.
std::string sha1_of_file(const std::string& path);

}  // namespace clockassay
