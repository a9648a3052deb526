// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <string>

#include "app/output_file.h"
#include "clockassay/analysis/record.h"
#include "clockassay/base/result.h"

namespace clockassay {

/// Results as JSON, a line each, as they come. A file is whole or not there, as
/// every output; standard output and pipes get each line at once.
class JsonLines {
 public:
  /// In:     path  "-" for standard output; none: nothing is written
  /// Errors: kCannotCreate
  static Result<JsonLines> open(const std::optional<std::string>& path);

  /// Errors: kWriteFailed; kInternal where a number is not finite
  Result<void> write(const Record& record);

  /// Makes the file real. Errors: kWriteFailed
  Result<void> commit();

 private:
  bool to_console_ = false;
  std::optional<OutputFile> file_;
};

}  // namespace clockassay
