// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "capture/csv_head.h"
#include "capture/csv_layout.h"
#include "capture/csv_survey.h"
#include "clockassay/base/result.h"

namespace clockassay {

/// What the rows stand for and how far apart samples are: as the user says,
/// else the file, else the first rows. Sets rows, row_step and the grid of
/// `csv`, whose tick_exponent is set; adds warnings.
/// Errors: kBadData when times that count samples have no rate, or one whose
///         period leaves the range of Rational, or rows that
///         are stated to be samples are at no constant step.
Result<void> set_sampling(const ReadOptions& options, const CsvHead& head,
                          const CsvSurvey& survey, CsvLayout& csv);

}  // namespace clockassay
