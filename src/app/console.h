// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string_view>

#include "app/command_line.h"
#include "clockassay/base/result.h"

namespace clockassay {

/// Makes the three standard descriptors safe to use: a closed one is filled so
/// that no file we open takes its number, and a closed pipe or a limit on the
/// size of files is an error of the write, not a signal. A signal that ends the
/// program leaves no temporary file.
void prepare_console();

/// Prints on standard output. Errors: kWriteFailed.
Result<void> print(std::string_view text);

/// "clockassay: path:line: message", then the hint, on standard error. Says
/// nothing of a standard output nobody reads any more.
void complain(const Error& error);

/// The same of memory that ran out, without needing any.
void complain_of_memory();

/// Whether text on standard output shall be coloured.
bool wants_color(ColorWhen when);

}  // namespace clockassay
