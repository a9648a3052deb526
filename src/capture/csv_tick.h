// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <vector>

#include "capture/csv_survey.h"
#include "clockassay/base/result.h"

namespace clockassay {

/// The unit times are held in.
struct CsvTick {
  int exponent = 0;  ///< 10^this seconds, or samples
  std::int64_t per_row_tick = 1;
};

/// The finest place the rows need, or as stated. Where edges are interpolated
/// the tick is finer by up to 1000, as far as a day can still be held.
/// Errors: kUsage when the stated tick is no power of ten of a second from
///         1e-18 to 1; kBadData with the byte when a row has a digit below
///         1e-18 s, or the times do not fit together.
Result<CsvTick> choose_tick(const std::vector<SurveyRow>& rows,
                            const CsvColumns& columns,
                            const ReadOptions& options);

}  // namespace clockassay
