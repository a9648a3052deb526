// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <map>
#include <string>
#include <vector>

#include "clockassay/analysis/record.h"
#include "clockassay/base/result.h"

namespace clockassay {

/// A folder in which captures turn up.
class WatchedFolder {
 public:
  explicit WatchedFolder(std::string path) : path_(std::move(path)) {}

  /// The captures that are written to their end: as they were at the last look,
  /// `quiet_s` ago or more, and nobody has them open for writing, as far as the
  /// system says. Hidden files, folders and those that end in .tmp or .part are
  /// passed over. In order of their times, then names.
  /// Errors: kNoInput where the folder cannot be read
  Result<std::vector<WatchedFile>> complete(double quiet_s);

  std::string path_of(const WatchedFile& file) const;

 private:
  std::string path_;
  std::map<std::string, WatchedFile> seen_;  // at the last look, by name
};

}  // namespace clockassay
