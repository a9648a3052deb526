// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <string_view>

#include "app/file_descriptor.h"
#include "app/unfinished_files.h"
#include "clockassay/base/result.h"

namespace clockassay {

/// An output that is whole or absent: written to a temporary file beside its
/// place and renamed on commit, with links resolved and the mode of an existing
/// file kept. Without commit nothing changes. Devices, pipes and descriptors
/// ("/dev/stdout") are written to directly; "-" is standard output.
class OutputFile {
 public:
  /// Errors: kCannotCreate.
  static Result<OutputFile> create(const std::string& path);
  OutputFile(OutputFile&& other) noexcept;
  ~OutputFile();

  /// Errors: kWriteFailed.
  Result<void> write(std::string_view bytes);
  /// Forces what was written to the disk, and closes it; nothing can be written
  /// after. Where several files belong together, all are sealed before any is
  /// committed: what fails, fails before. Errors: kWriteFailed.
  Result<void> seal();
  /// Makes it real, once, sealing it first. Errors: kWriteFailed.
  Result<void> commit();

 private:
  OutputFile() = default;
  bool make_temporary();

  FileDescriptor fd_;
  std::string path_;           // as the user wrote it
  std::string target_;         // links resolved; empty: written directly
  std::string temporary_;      // empty: none left behind
  UnfinishedFile unfinished_;  // that it is there, for a signal that ends us
};

}  // namespace clockassay
