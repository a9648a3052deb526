// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "capture/csv_value_columns.h"
#include "clockassay/capture/read_options.h"
#include "clockassay/capture/understanding.h"

namespace clockassay {

/// How a column is read, and why. Of words it says the last bit that is read.
ReadingFact column_fact(const FirstCells& first, const ValueColumn& column,
                        const ReadOptions& options);

}  // namespace clockassay
