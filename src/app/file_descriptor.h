// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <sys/types.h>

#include <cerrno>
#include <optional>
#include <string>
#include <string_view>
#include <utility>

#include "clockassay/base/result.h"

namespace clockassay {

/// An open file, closed when it goes.
class FileDescriptor {
 public:
  FileDescriptor() = default;
  explicit FileDescriptor(int fd) : fd_(fd) {}
  FileDescriptor(FileDescriptor&& other) noexcept
      : fd_(std::exchange(other.fd_, -1)) {}
  FileDescriptor& operator=(FileDescriptor&& other) noexcept {
    std::swap(fd_, other.fd_);
    return *this;
  }
  ~FileDescriptor() { close(); }
  int get() const { return fd_; }
  bool is_open() const { return fd_ >= 0; }
  /// False when the system reports that something written was lost.
  bool close();

 private:
  int fd_ = -1;
};

/// Which file it is, whatever the path.
struct FileIdentity {
  dev_t device;
  ino_t inode;
  friend bool operator==(const FileIdentity&, const FileIdentity&) = default;
};

/// Of a regular file that exists, links followed; nullopt for anything else
/// (two uses of one device or pipe are no conflict).
std::optional<FileIdentity> regular_file_identity(const std::string& path);

/// Writes everything, whatever signals and short writes come between.
/// Errors: kWriteFailed with `path` and the system's reason.
Result<void> write_all(int fd, std::string_view bytes, const std::string& path);

/// The system's words for the current errno.
std::string system_reason();

/// What the system refused, from the current errno: "cannot open: No such file
/// or directory", with a way forward where there is one.
Error system_error(ErrorCode code, const std::string& what,
                   const std::string& path);

/// What `call` returns, called again while a signal cut it short.
template <class Call>
auto retried(const Call& call) {
  auto result = call();
  while (result < 0 && errno == EINTR) result = call();
  return result;
}

/// Waits until a descriptor that does not block can be read (POLLIN) or written
/// (POLLOUT), or has an error to tell.
void wait_until_ready(int fd, short events);

}  // namespace clockassay
