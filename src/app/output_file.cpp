// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/output_file.h"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <charconv>
#include <climits>
#include <cstdlib>
#include <optional>
#include <utility>

namespace clockassay {
namespace {

// The kernel follows as many (path_resolution(7)).
constexpr int kMostLinks = 40;

std::string folder_of(const std::string& path) {
  const std::size_t slash = path.rfind('/');
  return slash == std::string::npos ? "" : path.substr(0, slash + 1);
}

// Where a chain of links ends, whether or not something is there.
std::optional<std::string> follow_links(std::string path) {
  for (int i = 0; i < kMostLinks; ++i) {
    std::array<char, PATH_MAX> buffer;
    const ssize_t length =
        ::readlink(path.c_str(), buffer.data(), buffer.size());
    if (length < 0) return path;  // no link
    const std::string link(buffer.data(), static_cast<std::size_t>(length));
    path = link.starts_with('/') ? link : folder_of(path).append(link);
  }
  errno = ELOOP;
  return std::nullopt;
}

// The descriptor a path such as "/dev/stdout" or "/dev/fd/3" stands for. It is
// written to as it is: opening it anew would begin at its front and overwrite
// what other writers put there, and a rename would cut them off.
std::optional<int> descriptor_of(const std::string& path) {
  if (path == "-" || path == "/dev/stdout") return STDOUT_FILENO;
  if (path == "/dev/stderr") return STDERR_FILENO;
  for (const std::string_view folder : {"/dev/fd/", "/proc/self/fd/"}) {
    if (!path.starts_with(folder)) continue;
    int fd = -1;
    const char* end = path.data() + path.size();
    const auto read = std::from_chars(path.data() + folder.size(), end, fd);
    if (read.ec == std::errc{} && read.ptr == end && fd >= 0) return fd;
  }
  return std::nullopt;
}

// The mode a file gets that any program creates here.
mode_t default_mode() {
  const mode_t mask = ::umask(0);
  ::umask(mask);
  return 0666 & ~mask;
}

}  // namespace

Result<OutputFile> OutputFile::create(const std::string& path) {
  const auto cannot = [&path]() {
    return tl::unexpected(
        system_error(ErrorCode::kCannotCreate, "cannot create", path));
  };
  OutputFile out;
  out.path_ = path;
  if (const auto fd = descriptor_of(path)) {
    out.fd_ = FileDescriptor(::fcntl(*fd, F_DUPFD_CLOEXEC, 0));
    if (!out.fd_.is_open()) return cannot();
    return out;
  }
  struct stat info {};
  const bool exists = ::stat(path.c_str(), &info) == 0;
  if (exists && S_ISDIR(info.st_mode)) {
    errno = EISDIR;
    return cannot();
  }
  if (exists && !S_ISREG(info.st_mode)) {
    out.fd_ = FileDescriptor(
        retried([&] { return ::open(path.c_str(), O_WRONLY | O_CLOEXEC); }));
    if (!out.fd_.is_open()) return cannot();
    return out;
  }
  const auto target = follow_links(path);
  if (!target) return cannot();
  out.target_ = *target;
  if (!out.make_temporary()) return cannot();
  const mode_t mode = exists ? info.st_mode & 07777 : default_mode();
  const int fd = out.fd_.get();
  if (retried([&] { return ::fchmod(fd, mode); }) != 0) return cannot();
  return out;
}

bool OutputFile::make_temporary() {
  const SignalsHeld held;  // until the file is known to be there
  std::string temporary;
  fd_ = FileDescriptor(retried([&] {
    temporary = target_ + ".XXXXXX";
    return ::mkostemp(temporary.data(), O_CLOEXEC);
  }));
  if (!fd_.is_open()) return false;
  temporary_ = std::move(temporary);
  unfinished_ = UnfinishedFile(temporary_);
  return true;
}

OutputFile::OutputFile(OutputFile&& other) noexcept
    : fd_(std::move(other.fd_)),
      path_(std::move(other.path_)),
      target_(std::move(other.target_)),
      temporary_(std::exchange(other.temporary_, {})),
      unfinished_(std::move(other.unfinished_)) {}

OutputFile::~OutputFile() {
  if (!temporary_.empty()) ::unlink(temporary_.c_str());
}

Result<void> OutputFile::write(std::string_view bytes) {
  return write_all(fd_.get(), bytes, path_);
}

Result<void> OutputFile::seal() {
  const int fd = fd_.get();
  // Without it a crash of the machine could leave the new name on no data.
  const bool is_kept = temporary_.empty() || !fd_.is_open() ||
                       retried([fd] { return ::fsync(fd); }) == 0;
  if (is_kept && fd_.close()) return {};
  return tl::unexpected(
      system_error(ErrorCode::kWriteFailed, "cannot write", path_));
}

Result<void> OutputFile::commit() {
  if (auto sealed = seal(); !sealed || temporary_.empty()) return sealed;
  if (retried([this] {
        return ::rename(temporary_.c_str(), target_.c_str());
      }) != 0) {
    return tl::unexpected(
        system_error(ErrorCode::kWriteFailed, "cannot write", path_));
  }
  temporary_.clear();
  unfinished_ = UnfinishedFile();
  return {};
}

}  // namespace clockassay
