// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/file_descriptor.h"

#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <system_error>

namespace clockassay {

bool FileDescriptor::close() {
  if (fd_ < 0) return true;
  // On Linux the descriptor is gone even when close is interrupted.
  const int result = ::close(std::exchange(fd_, -1));
  return result == 0 || errno == EINTR;
}

std::optional<FileIdentity> regular_file_identity(const std::string& path) {
  struct stat info {};
  if (::stat(path.c_str(), &info) != 0) return std::nullopt;
  if (!S_ISREG(info.st_mode)) return std::nullopt;
  return FileIdentity{info.st_dev, info.st_ino};
}

Result<void> write_all(int fd, std::string_view bytes,
                       const std::string& path) {
  while (!bytes.empty()) {
    const ssize_t written = ::write(fd, bytes.data(), bytes.size());
    if (written < 0) {
      if (errno == EINTR) continue;
      Error error{ErrorCode::kWriteFailed, "cannot write: " + system_reason()};
      error.path = path;
      return tl::unexpected(error);
    }
    bytes.remove_prefix(static_cast<std::size_t>(written));
  }
  return {};
}

std::string system_reason() {
  return std::generic_category().message(errno);
}

}  // namespace clockassay
