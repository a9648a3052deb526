// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "capture/csv_layout.h"
#include "capture/csv_survey.h"

namespace clockassay {

/// Some tables have a time column for each channel. Where their names do not
/// say so, a column that is to the right of the time column, is none that is
/// read, and rises from row to row, but for a plain count of the rows, may hold
/// the times of the channels to the right of it. So may any such column where
/// the rows are taken for samples. other_times is then added to the layout's
/// warnings. In: choose_channels was called; no long form.
void warn_of_other_times(const CsvSurvey& survey, CsvLayout& csv);

}  // namespace clockassay
