// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/watched_folder.h"

#include <dirent.h>
#include <fcntl.h>
#include <sys/stat.h>

#include <algorithm>
#include <cerrno>
#include <ctime>
#include <memory>
#include <optional>
#include <tuple>
#include <utility>

#include "app/file_descriptor.h"

namespace clockassay {
namespace {

constexpr std::int64_t kNanosPerSecond = 1'000'000'000;

std::int64_t nanos(const timespec& t) {
  return std::int64_t{t.tv_sec} * kNanosPerSecond + t.tv_nsec;
}

// Times of files are set by whoever likes to; waiting goes by this.
double now_s() {
  timespec now{};
  clock_gettime(CLOCK_MONOTONIC, &now);
  return static_cast<double>(nanos(now)) / kNanosPerSecond;
}

bool is_passed_over(const std::string& name) {
  return name.starts_with('.') || name.ends_with(".tmp") ||
         name.ends_with(".part");
}

std::optional<WatchedFile> look_at(const std::string& folder,
                                   const std::string& name) {
  struct stat status {};
  if (stat((folder + '/' + name).c_str(), &status) != 0) return std::nullopt;
  if (!S_ISREG(status.st_mode)) return std::nullopt;
  return WatchedFile{name, status.st_size, nanos(status.st_mtim)};
}

bool is_same(const WatchedFile& a, const WatchedFile& b) {
  return a.bytes == b.bytes && a.modified_ns == b.modified_ns;
}

// A read lease is refused while anybody has the file open for writing. Where
// leases are not to be had, the quiet time alone has to do.
bool is_being_written(const std::string& path) {
  const FileDescriptor fd(::open(path.c_str(), O_RDONLY | O_CLOEXEC));
  if (!fd.is_open()) return false;
  if (fcntl(fd.get(), F_SETLEASE, F_RDLCK) == 0) {
    fcntl(fd.get(), F_SETLEASE, F_UNLCK);
    return false;
  }
  return errno == EAGAIN;
}

}  // namespace

std::string WatchedFolder::path_of(const WatchedFile& file) const {
  return path_ + '/' + file.name;
}

bool WatchedFolder::is_unchanged(const WatchedFile& file) const {
  const auto now = look_at(path_, file.name);
  return now && is_same(*now, file);
}

bool WatchedFolder::is_no_capture(const std::string& name) const {
  const auto file = regular_file_identity(path_ + '/' + name);
  return file && std::any_of(not_captures_.begin(), not_captures_.end(),
                             [&file](const std::string& path) {
                               return regular_file_identity(path) == file;
                             });
}

Result<std::vector<WatchedFile>> WatchedFolder::complete(
    double quiet_s, const std::function<bool(const WatchedFile&)>& is_done) {
  const std::unique_ptr<DIR, int (*)(DIR*)> folder(opendir(path_.c_str()),
                                                   closedir);
  if (folder == nullptr) {
    return tl::unexpected(system_error(ErrorCode::kNoInput,
                                       "cannot look into the folder", path_));
  }
  const double now = now_s();
  std::map<std::string, Seen> seen;
  std::vector<WatchedFile> files;
  while (const dirent* entry = readdir(folder.get())) {
    const std::string name = entry->d_name;
    const auto file =
        is_passed_over(name) ? std::nullopt : look_at(path_, name);
    if (!file || is_done(*file)) continue;
    const auto before = seen_.find(name);
    const bool is_still =
        before != seen_.end() && is_same(before->second.file, *file);
    const double since = is_still ? before->second.since_s : now;
    if (now - since >= quiet_s && !is_no_capture(name) &&
        !is_being_written(path_of(*file))) {
      files.push_back(*file);
    }
    seen.emplace(name, Seen{*file, since});
  }
  seen_ = std::move(seen);
  std::sort(files.begin(), files.end(),
            [](const WatchedFile& a, const WatchedFile& b) {
              return std::tie(a.modified_ns, a.name) <
                     std::tie(b.modified_ns, b.name);
            });
  return files;
}

}  // namespace clockassay
