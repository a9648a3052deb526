// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <string>

#include "app/file_descriptor.h"
#include "clockassay/base/result.h"

namespace clockassay {

/// A file or pipe being read; the path "-" is standard input.
class InputSource {
 public:
  /// Errors: kNoInput when it cannot be opened or is a directory.
  static Result<InputSource> open(const std::string& path);
  /// Fills the buffer from the front; 0 bytes at the end of input.
  /// Errors: kReadFailed.
  Result<std::size_t> read(std::span<char> buffer);
  /// Prepares for interrupt(); false where the system has nothing left for it.
  bool make_interruptible();
  /// Ends a read() that waits for bytes, and every later one, as at the end of
  /// input; from any thread.
  void interrupt() const;
  /// As read() from byte `offset` on, whatever was read, for several at once.
  /// In: is_file()
  Result<std::size_t> read_at(std::int64_t offset,
                              std::span<char> buffer) const;
  /// Whether it was opened by name and any place in it can be read.
  bool is_file() const;
  /// Of a regular file that is not as it was when it was opened, longer,
  /// shorter or written anew: why what was read is no one file. From then on no
  /// result of it is one of the file. kReadFailed.
  std::optional<Error> changed() const;
  /// How much is there from the present place on; nullopt where that is not
  /// known, as of a pipe.
  std::optional<std::int64_t> size() const;

 private:
  /// What tells a file from itself after somebody wrote to it.
  struct State {
    std::int64_t bytes;
    std::int64_t written_s;
    std::int64_t written_ns;
    friend bool operator==(const State&, const State&) = default;
  };
  InputSource(FileDescriptor fd, std::string path)
      : fd_(std::move(fd)), path_(std::move(path)), opened_(state()) {}
  std::optional<State> state() const;  // of a regular file
  bool wait_for_bytes() const;

  FileDescriptor fd_;
  FileDescriptor interrupt_;  // if open: an event, by which waiting ends
  std::string path_;
  std::optional<State> opened_;
};

/// The whole of a specification or an instrument file as text.
/// Errors: as above; kBadSpec when it is longer than any of them.
Result<std::string> read_short_text(const std::string& path);

/// The same of data that are short, such as "a series": kBadData then.
Result<std::string> read_short_data(const std::string& path, const char* what);

/// The first bytes of a file that can be read from the front again; empty of
/// anything else, such as a pipe.
Result<std::string> peek_at(const std::string& path);

}  // namespace clockassay
