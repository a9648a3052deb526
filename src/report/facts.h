// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <vector>

#include "clockassay/analysis/record.h"

namespace clockassay {

/// How a capture was understood: what its importer decided, then what the
/// analysis made of its times, and the channels.
std::vector<ReadingFact> facts_of(const CaptureResult& capture);

}  // namespace clockassay
