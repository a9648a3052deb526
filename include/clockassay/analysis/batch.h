// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "clockassay/analysis/record.h"

namespace clockassay {

/// Counts what came of one capture: `part` is the record of it alone.
void count_in(const Record& part, BatchSummary& summary);

/// Appends what came of one capture to the record of all. What the two state
/// alike, as the timebase, is that of `whole`.
void append_part(Record part, Record& whole);

}  // namespace clockassay
