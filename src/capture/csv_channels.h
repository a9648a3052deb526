// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "capture/csv_layout.h"
#include "capture/csv_survey.h"
#include "clockassay/base/result.h"

namespace clockassay {

/// Which channels the rows deliver and what their cells say, by the first rows
/// and the options. Sets values, events and what the layout says of channels.
/// A lone column is one channel. In the long form the names of the channels are
/// those of the first rows; one that is asked for and not among them may still
/// come, unless `all`: the first rows are all there are.
/// Errors: those of read_value_columns
Result<void> choose_channels(const ReadOptions& options,
                             const CsvSurvey& survey, std::string_view text,
                             bool all, CsvLayout& csv);

/// The name given by the user that may mean the channel `late`, which comes
/// below the first rows of the long form and is none of CsvLayout::events: had
/// it come earlier, it would have been chosen, or the name refused.
std::optional<std::string> asked_for_by(const CsvLayout& csv,
                                        std::string_view late);

/// Whether the cells of a column count the rows, as the first one of many
/// exports does.
bool counts_rows(const CsvSurvey& survey, std::size_t column);

}  // namespace clockassay
