// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <vector>

#include "app/command_line.h"
#include "clockassay/analysis/analyse.h"
#include "clockassay/base/result.h"
#include "clockassay/verdict/specification.h"

namespace clockassay {

/// What `verify` judges by: the file, or the options; of it what --channel
/// names. A single --expect with channels named expects it of each of them.
/// Errors: kUsage; kNoInput and kBadSpec with the file's path.
Result<Specification> load_specification(
    const VerifyArguments& arguments, const std::vector<std::string>& channels);

/// How long its clocks may take to settle, where that is stated.
std::vector<SettlingAsked> settling_of(const Specification& specification);

/// The channels its clocks are on; empty when one clock names none.
std::vector<std::string> channels_of(const Specification& specification);

}  // namespace clockassay
