// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <memory>
#include <string>
#include <vector>

#include "clockassay/base/result.h"
#include "clockassay/history/stored_row.h"

namespace clockassay {

/// A store of results: an SQLite file, or a PostgreSQL database that rigs
/// share. Rows are written whole, all of one capture or none; a row that is
/// there already stays the one it is, so that a run may be repeated.
class Store {
 public:
  /// In:     url  a path, or postgresql://…
  ///         may_create  an SQLite file that is not there is made
  /// Errors: kNoInput where it is not there, kCannotCreate where it cannot be
  ///         opened or made; kBadData where it is no store, or of a later
  ///         version
  static Result<Store> open(const std::string& url, bool may_create);
  Store(Store&&) noexcept;
  ~Store();

  /// Out:    how many were new
  /// Errors: kWriteFailed
  Result<std::size_t> append(const std::vector<StoredRow>& rows);

  /// In order of time. Errors: kReadFailed
  Result<std::vector<StoredRow>> read();

 private:
  struct Session;
  explicit Store(std::unique_ptr<Session> session);
  std::unique_ptr<Session> session_;
};

/// The same without the password of a URL, for messages.
std::string without_password(const std::string& url);

/// Whether the words mean a database server.
bool is_server_url(const std::string& url);

}  // namespace clockassay
