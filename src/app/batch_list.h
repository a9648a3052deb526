// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "clockassay/analysis/record.h"
#include "clockassay/base/result.h"

namespace clockassay {

/// A capture to be judged, and what is to be kept with its result.
struct BatchEntry {
  std::string path;
  std::vector<Tag> tags;
  std::string folder = {};  ///< that the path is relative to, with its "/"
};

/// Reads a list of captures: a path a line, blank lines and lines that begin
/// with # passed over; or JSON, a list of {"capture": PATH, "tags": {KEY:
/// VALUE}}.
/// Errors: kBadSpec with the JSON path, or where no capture is in it
Result<std::vector<BatchEntry>> parse_batch_list(std::string_view text);

/// "board=7". Errors: kUsage where there is no key or no "=".
Result<Tag> parse_tag(std::string_view text);

/// Adds a tag; one of its key that is there goes.
void set_tag(Tag tag, std::vector<Tag>& tags);

/// The files a path stands for: itself, or where no such file is there and it
/// holds *, ? or [, those that match, in order of their names; itself again
/// where none does, which reading it then says.
/// In:     folder  that it is in, whose own name is no pattern; "" or with "/"
std::vector<std::string> expand_pattern(const std::string& folder,
                                        const std::string& path);

/// All captures of a command line: those it names and those of its list, whose
/// paths are relative to the list, patterns expanded, each with the tags that
/// are common to all and its own before them.
/// In:     list  path; empty: none
/// Errors: as above, with the path of the list; kUsage where a capture is named
///         twice, by whatever path; kBadSpec where a tag "taken_at" is no time
Result<std::vector<BatchEntry>> gather_captures(
    const std::vector<std::string>& named, const std::string& list,
    const std::vector<Tag>& common);

}  // namespace clockassay
