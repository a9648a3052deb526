// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/file_descriptor.h"

#include <poll.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <system_error>

namespace clockassay {
namespace {

// What to do about an error of the system, of an input or of an output.
const char* way_forward(int number, bool is_output) {
  switch (number) {
    case ENOENT:
      return is_output ? "make the folder first"
                       : "a relative path begins at the working folder";
    case ENOTDIR:
      return "a part of the path is a file: name another place";
    case EACCES:
    case EPERM:
      return is_output ? "get the right to write there, or name another place"
                       : "get the right to read it";
    case EROFS:
      return "nothing can be written there: name another place";
    case EISDIR:
      return "name a file";
    case ENOSPC:
    case EDQUOT:
      return "make room, or name a place on another disk";
    case EFBIG:
      return "a limit on the size of files ends it (ulimit -f): raise it";
    case EMFILE:
    case ENFILE:
      return "too many files are open: raise the limit (ulimit -n)";
    case ENOMEM:
      return "give it more memory";
    case EIO:
      return is_output ? "look after the disk, or name a place on another"
                       : "look after the disk, or read a copy from another";
    case ENXIO:
      return is_output ? "nobody reads there: name a file"
                       : "it is a socket or no device: name a file or a pipe";
    case EPIPE:
      return "whoever reads it ended before the end";
    case ELOOP:
      return "its links lead in a circle: name the file itself";
    case ENAMETOOLONG:
      return "name a shorter path";
    default:
      return "";
  }
}

}  // namespace

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
    const ssize_t written =
        retried([&] { return ::write(fd, bytes.data(), bytes.size()); });
    if (written < 0 && errno == EAGAIN) {
      wait_until_ready(fd, POLLOUT);
      continue;
    }
    // Nothing taken and no reason given: it would go on so for ever.
    if (written == 0) errno = EIO;
    if (written <= 0) {
      return tl::unexpected(
          system_error(ErrorCode::kWriteFailed, "cannot write", path));
    }
    bytes.remove_prefix(static_cast<std::size_t>(written));
  }
  return {};
}

std::string system_reason() {
  return std::generic_category().message(errno);
}

Error system_error(ErrorCode code, const std::string& what,
                   const std::string& path) {
  const bool is_output =
      code == ErrorCode::kCannotCreate || code == ErrorCode::kWriteFailed;
  const std::string hint = way_forward(errno, is_output);
  Error error{code, what + ": " + system_reason(), hint};
  error.path = path;
  return error;
}

void wait_until_ready(int fd, short events) {
  pollfd file{fd, events, 0};
  while (::poll(&file, 1, -1) < 0 && errno == EINTR) {
  }
}

}  // namespace clockassay
