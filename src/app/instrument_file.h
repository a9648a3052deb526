// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <string>

#include "app/command_line.h"
#include "clockassay/analysis/instrument.h"
#include "clockassay/base/result.h"

namespace clockassay {

/// Reads an instrument file.
/// Errors: kNoInput, kBadSpec with the path
Result<Instrument> read_instrument(const std::string& path);

/// What the instrument file states, too: the command line goes before. Absent
/// without a file.
/// Errors: kNoInput, kBadSpec with the path
Result<std::optional<Instrument>> load_instrument(ReadingArguments& reading);

}  // namespace clockassay
