// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <vector>

#include "clockassay/base/result.h"
#include "clockassay/capture/read_options.h"

namespace clockassay::test {

/// What the command line would read a capture with.
/// Errors: kUsage, as the program.
Result<ReadOptions> capture_options(std::vector<std::string> args);

/// The options that the test file `path` is read with: those of the line in
/// the file beside it that ends in .options, none without one. A word with
/// blanks in it stands between single quotes.
std::vector<std::string> options_beside(const std::string& path);

}  // namespace clockassay::test
