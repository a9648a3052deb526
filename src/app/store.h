// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <memory>
#include <string>
#include <vector>

#include "clockassay/base/result.h"
#include "clockassay/history/stored_row.h"

namespace clockassay {

enum class StoreUse {
  kAppend,  ///< made where none is there, brought up to this version
  kRead     ///< left as it is
};

/// A store of results: an SQLite file, or a PostgreSQL database that rigs
/// share. Rows are written whole, all of one capture or none; a row that is
/// there already stays the one it is, so that a run may be repeated.
class Store {
 public:
  /// In:     url  a path, or postgresql://…
  /// Errors: kUsage where it is neither; kCannotCreate, or kNoInput where it is
  ///         only read, where it cannot be opened or made; kBadData where it
  ///         holds something else, or is of a later version
  static Result<Store> open(const std::string& url, StoreUse use);
  Store(Store&&) noexcept;
  ~Store();

  /// Out:    how many were new
  /// Errors: kWriteFailed
  Result<std::size_t> append(const std::vector<StoredRow>& rows);

  /// In order of time. Errors: kReadFailed; kBadData where a row holds what no
  /// result has
  Result<std::vector<StoredRow>> read();

 private:
  struct Session;
  explicit Store(std::unique_ptr<Session> session);
  std::unique_ptr<Session> session_;
};

}  // namespace clockassay
