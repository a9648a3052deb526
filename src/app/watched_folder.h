// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <functional>
#include <map>
#include <string>
#include <vector>

#include "clockassay/analysis/record.h"
#include "clockassay/base/result.h"

namespace clockassay {

/// A folder in which captures turn up.
class WatchedFolder {
 public:
  /// In:     not_captures  files that may lie in it and are none, such as what
  ///         the watcher itself writes
  WatchedFolder(std::string path, std::vector<std::string> not_captures)
      : path_(std::move(path)), not_captures_(std::move(not_captures)) {}

  /// The captures that are written to their end: as they were for `quiet_s`, by
  /// this watcher's own clock, and nobody has them open for writing, as far as
  /// the system says. Hidden files, folders and those that end in .tmp or .part
  /// are passed over. In order of their times, then names.
  /// In:     is_done  those are not looked into
  /// Errors: kNoInput where the folder cannot be read
  Result<std::vector<WatchedFile>> complete(
      double quiet_s, const std::function<bool(const WatchedFile&)>& is_done);

  /// Whether it is still the same, as after it was read.
  bool is_unchanged(const WatchedFile& file) const;

  std::string path_of(const WatchedFile& file) const;

 private:
  struct Seen {
    WatchedFile file;
    double since_s = 0.0;  // as it is, by a clock that nobody sets
  };

  bool is_no_capture(const std::string& name) const;

  std::string path_;
  std::vector<std::string> not_captures_;
  std::map<std::string, Seen> seen_;  // at the last look, by name
};

}  // namespace clockassay
