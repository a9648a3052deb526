// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <string_view>
#include <vector>

#include "capture/csv_head.h"
#include "capture/csv_layout.h"
#include "capture/csv_survey.h"

namespace clockassay {

/// What was decided about the file, for a reader who wants to check it.
std::vector<ReadingFact> csv_facts(const CsvLayout& csv, const CsvHead& head,
                                   const CsvSurvey& survey,
                                   const ReadOptions& options);

/// The first rows of `text` from `body` on as the parser reads them.
std::vector<RecordAsRead> first_records(const CsvLayout& csv,
                                        std::string_view text, std::size_t body,
                                        bool all);

}  // namespace clockassay
