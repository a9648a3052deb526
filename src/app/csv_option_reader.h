// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "app/command_line.h"
#include "app/option_values.h"

namespace clockassay {

/// The options that say what a CSV file does not, or not unambiguously.
/// Refuses them where --format says that none is read.
void read_csv_options(OptionReader& reader, ReadingArguments& arguments);

}  // namespace clockassay
