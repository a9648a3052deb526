// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/json_lines.h"

#include <utility>

#include "app/console.h"
#include "clockassay/report/report.h"

namespace clockassay {

Result<JsonLines> JsonLines::open(const std::optional<std::string>& path) {
  JsonLines lines;
  if (path == "-") {
    lines.to_console_ = true;
  } else if (path) {
    auto file = OutputFile::create(*path);
    if (!file) return tl::unexpected(file.error());
    lines.file_.emplace(*std::move(file));
  }
  return lines;
}

Result<void> JsonLines::write(const Record& record) {
  if (!to_console_ && !file_) return {};
  const auto line = json_line(record);
  if (!line) return tl::unexpected(line.error());
  auto written = to_console_ ? print(*line) : file_->write(*line);
  if (!written) {
    // It is said once, and nothing of the file is kept.
    to_console_ = false;
    file_.reset();
  }
  return written;
}

Result<void> JsonLines::commit() {
  return file_ ? file_->commit() : Result<void>{};
}

}  // namespace clockassay
