// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <vector>

#include "clockassay/analysis/record.h"

namespace clockassay {

/// "103.092 784 ns", "10 ns": an interval everywhere alike, and without zeros
/// that say nothing.
std::string interval_text(Seconds interval);

/// How a capture was understood: what its importer decided, then what the
/// analysis made of its times, and the channels.
std::vector<ReadingFact> facts_of(const CaptureResult& capture);

}  // namespace clockassay
