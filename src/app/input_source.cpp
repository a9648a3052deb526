// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/input_source.h"

#include <fcntl.h>
#include <poll.h>
#include <sys/eventfd.h>
#include <sys/stat.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <iterator>

namespace clockassay {
namespace {

// Chosen: far above any specification or instrument file, far below what memory
// holds.
constexpr std::size_t kLongestShortText = std::size_t{16} << 20;

// What a pipe holds. Chosen: the most that Linux allows anyone by default.
constexpr int kPipeBytes = 1 << 20;

tl::unexpected<Error> failed(ErrorCode code, std::string message,
                             const std::string& path, std::string hint = {}) {
  Error error{code, std::move(message), std::move(hint)};
  error.path = path;
  return tl::unexpected(error);
}

Result<std::string> read_short(const std::string& path, ErrorCode too_long,
                               const char* what) {
  auto source = InputSource::open(path);
  if (!source) return tl::unexpected(source.error());
  std::string text;
  std::array<char, 65536> buffer;
  while (true) {
    const auto got = source->read(buffer);
    if (!got) return tl::unexpected(got.error());
    if (*got == 0) {
      if (auto error = source->changed()) return tl::unexpected(*error);
      return text;
    }
    text.append(buffer.data(), *got);
    if (text.size() > kLongestShortText) {
      return failed(too_long,
                    std::string("found more than 16 MiB, expected ") + what,
                    path, "name the file that is one");
    }
  }
}

}  // namespace

Result<InputSource> InputSource::open(const std::string& path) {
  // A copy, so that closing ours leaves standard input alone.
  const int fd = path == "-"
                     ? ::fcntl(STDIN_FILENO, F_DUPFD_CLOEXEC, 0)
                     : retried([&path] {
                         return ::open(path.c_str(), O_RDONLY | O_CLOEXEC);
                       });
  if (fd < 0) {
    return tl::unexpected(
        system_error(ErrorCode::kNoInput, "cannot open", path));
  }
  FileDescriptor file(fd);
  // Who writes a pipe waits less; anything else refuses, and is as good.
  (void)::fcntl(fd, F_SETPIPE_SZ, kPipeBytes);
  struct stat info {};
  if (::fstat(fd, &info) == 0 && S_ISDIR(info.st_mode)) {
    return failed(ErrorCode::kNoInput, "cannot open: it is a directory", path,
                  "name a file");
  }
  return InputSource(std::move(file), path);
}

Result<std::size_t> InputSource::read(std::span<char> buffer) {
  while (true) {
    if (interrupt_.is_open() && !wait_for_bytes()) return 0;
    const ssize_t got = ::read(fd_.get(), buffer.data(), buffer.size());
    if (got >= 0) return static_cast<std::size_t>(got);
    if (errno == EINTR) continue;
    if (errno == EAGAIN) {  // of a pipe whose other users want no waiting
      if (!interrupt_.is_open()) wait_until_ready(fd_.get(), POLLIN);
      continue;
    }
    return tl::unexpected(
        system_error(ErrorCode::kReadFailed, "cannot read", path_));
  }
}

bool InputSource::make_interruptible() {
  interrupt_ = FileDescriptor(::eventfd(0, EFD_CLOEXEC));
  return interrupt_.is_open();
}

void InputSource::interrupt() const {
  ::eventfd_write(interrupt_.get(), 1);
}

// Until a read does not wait; false if interrupted.
bool InputSource::wait_for_bytes() const {
  pollfd files[] = {{fd_.get(), POLLIN, 0}, {interrupt_.get(), POLLIN, 0}};
  while (::poll(files, std::size(files), -1) < 0 && errno == EINTR) {
  }
  return files[1].revents == 0;
}

Result<std::size_t> InputSource::read_at(std::int64_t offset,
                                         std::span<char> buffer) const {
  const ssize_t got = retried(
      [&] { return ::pread(fd_.get(), buffer.data(), buffer.size(), offset); });
  if (got >= 0) return static_cast<std::size_t>(got);
  return tl::unexpected(
      system_error(ErrorCode::kReadFailed, "cannot read", path_));
}

std::optional<InputSource::State> InputSource::state() const {
  struct stat info {};
  if (::fstat(fd_.get(), &info) != 0 || !S_ISREG(info.st_mode)) {
    return std::nullopt;
  }
  return State{info.st_size, info.st_mtim.tv_sec, info.st_mtim.tv_nsec};
}

std::optional<Error> InputSource::changed() const {
  const auto now = state();
  if (now == opened_) return std::nullopt;
  Error error{ErrorCode::kReadFailed, "it changed while it was read",
              "wait until it is written, or read a copy"};
  if (opened_ && now && opened_->bytes != now->bytes) {
    error.message += ", from " + std::to_string(opened_->bytes) + " to " +
                     std::to_string(now->bytes) + " bytes";
  }
  error.path = path_;
  return error;
}

bool InputSource::is_file() const {
  struct stat info {};
  return path_ != "-" && ::fstat(fd_.get(), &info) == 0 &&
         S_ISREG(info.st_mode);
}

std::optional<std::int64_t> InputSource::size() const {
  struct stat info {};
  if (::fstat(fd_.get(), &info) != 0 || !S_ISREG(info.st_mode)) {
    return std::nullopt;
  }
  const off_t at = ::lseek(fd_.get(), 0, SEEK_CUR);
  if (at < 0 || at > info.st_size) return std::nullopt;
  return info.st_size - at;
}

Result<std::string> read_short_text(const std::string& path) {
  return read_short(path, ErrorCode::kBadSpec,
                    "a specification or an instrument file");
}

Result<std::string> read_short_data(const std::string& path, const char* what) {
  return read_short(path, ErrorCode::kBadData, what);
}

Result<std::string> peek_at(const std::string& path) {
  const auto source = InputSource::open(path);
  if (!source) return tl::unexpected(source.error());
  if (!source->is_file()) return std::string();
  std::array<char, 256> beginning;
  const auto got = source->read_at(0, beginning);
  if (!got) return tl::unexpected(got.error());
  return std::string(beginning.data(), *got);
}

}  // namespace clockassay
