// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>

#include "clockassay/base/result.h"
#include "clockassay/capture/capture.h"
#include "clockassay/capture/read_options.h"
#include "support/read_text.h"

namespace clockassay::test {

/// Everything a reading gives, but how cycles are grouped into blocks, as text:
/// two readings are the same exactly if their texts are.
std::string all_facts(const Result<Capture>& result);

/// What is wrong with a reading by itself, whatever the input was: edges that
/// do not alternate or increase, times outside the capture, an error without a
/// place, a message that cannot be printed. nullopt: nothing.
std::optional<std::string> broken_promise(const Result<Capture>& result);

/// Reads `text` in one piece and as `feed` says, and checks both: nothing may
/// depend on the feed; and in one piece by each level of instructions that the
/// processor has. nullopt: nothing is wrong. Nothing else may read meanwhile.
std::optional<std::string> reading_fault(std::string_view text,
                                         const ReadOptions& options,
                                         const Feed& feed);

}  // namespace clockassay::test
