// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>

#include "clockassay/analysis/record.h"
#include "clockassay/base/result.h"

namespace clockassay {

struct TextOptions {
  bool color = false;  ///< ANSI colour
  bool quiet = false;  ///< one line per verdict or channel
  bool bare = false;   ///< nothing after the results: one of many reports
  /// json_report of the same record went well: its numbers are finite.
  bool is_checked = false;
};

/// The record for a person, at most 80 columns.
/// Errors: kInternal when a number is not finite, with its place in the JSON.
Result<std::string> text_report(const Record& record,
                                const TextOptions& options);

/// The record for a program: schema "clockassay/1"
/// (docs/schema/clockassay-1.schema.json). Numbers round-trip; unknown is null.
/// Errors: kInternal when a number is not finite, with its place in the JSON.
Result<std::string> json_report(const Record& record);

/// The same on one line, for streams of results.
Result<std::string> json_line(const Record& record);

}  // namespace clockassay
