// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <set>
#include <string>
#include <string_view>
#include <tuple>

#include "app/file_descriptor.h"
#include "clockassay/analysis/record.h"
#include "clockassay/base/result.h"

namespace clockassay {

/// What was judged of a watched folder: a line of JSON each, at the end of one
/// file. A line is written whole and forced to the disk before its capture
/// counts as done; one that a crash left unfinished is taken off at the next
/// start, and its capture is judged again. Only one watcher has a ledger at a
/// time.
class WatchLedger {
 public:
  /// In:     question  a digest of what captures are judged by: what was judged
  ///         by another is not done
  /// Errors: kCannotCreate; kBadData where a line is none of a watcher, with
  ///         its number; kUsage where another watcher has it
  static Result<WatchLedger> open(const std::string& path,
                                  std::string question);

  bool has(const WatchedFile& file) const;

  /// Errors: kWriteFailed, kInternal
  Result<void> add(const Record& record);

  std::size_t size() const { return done_.size(); }

 private:
  using Identity =
      std::tuple<std::string, std::int64_t, std::int64_t, std::string>;
  WatchLedger() = default;
  Result<void> read_back(const std::string& path);
  Result<void> take_line(std::string_view line, std::int64_t number,
                         const std::string& path);

  FileDescriptor fd_;
  std::string path_;
  std::string question_;
  std::set<Identity> done_;
};

}  // namespace clockassay
