// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <string>
#include <vector>

namespace clockassay {

/// One thing an importer decided about a file, and why.
struct ReadingFact {
  std::string topic;    ///< "separator", "time column", "rows", …
  std::string found;    ///< "semicolon", "\"Time\" in ns", …
  std::string because;  ///< "in 812 of 812 rows", "--time-unit", …
};

/// One record of the body as it was read.
struct RecordAsRead {
  std::int64_t line = 0;
  std::string text;                 ///< as it stands in the file
  std::string time_s;               ///< exact, in seconds
  std::vector<std::string> values;  ///< "clk_out = 1", what follows from it
};

/// How a file was understood, for a reader who wants to check it. Texts hold
/// bytes of the file as they are: whoever prints them escapes them.
struct Understanding {
  std::vector<ReadingFact> facts;
  std::vector<RecordAsRead> first_records;  ///< a handful
};

}  // namespace clockassay
