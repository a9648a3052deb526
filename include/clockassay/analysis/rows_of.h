// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <vector>

#include "clockassay/analysis/record.h"
#include "clockassay/history/stored_row.h"

namespace clockassay {

/// What a store keeps of the record of one capture: a row for each verdict, or,
/// where nothing is judged, for each channel with a clock.
/// In:     taken_s  when the capture was taken, since 1970 UTC
std::vector<StoredRow> rows_of(const Record& part, double taken_s);

}  // namespace clockassay
