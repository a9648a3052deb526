// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/watch_ledger.h"

#include <fcntl.h>
#include <sys/file.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <nlohmann/json.hpp>
#include <utility>

#include "clockassay/report/report.h"

namespace clockassay {
namespace {

tl::unexpected<Error> trouble(ErrorCode code, const std::string& path,
                              const std::string& what) {
  return tl::unexpected(system_error(code, what, path));
}

tl::unexpected<Error> no_ledger(const std::string& path, std::int64_t line) {
  Error error{ErrorCode::kBadData,
              "found a line that no watcher wrote, expected results of verify "
              "--watch",
              "name a file of its own for them"};
  error.path = path;
  error.line = line;
  return tl::unexpected(std::move(error));
}

// How a line begins, whatever is in it.
constexpr std::string_view kBeginning = "{\"schema\":\"clockassay/1\"";

}  // namespace

Result<WatchLedger> WatchLedger::open(const std::string& path,
                                      std::string question) {
  WatchLedger ledger;
  ledger.path_ = path;
  ledger.question_ = std::move(question);
  constexpr mode_t kMode = 0666;  // less what the umask takes off
  ledger.fd_ = FileDescriptor(retried([&path] {
    return ::open(path.c_str(), O_RDWR | O_CREAT | O_APPEND | O_CLOEXEC, kMode);
  }));
  if (!ledger.fd_.is_open()) {
    return trouble(ErrorCode::kCannotCreate, path, "cannot open");
  }
  if (flock(ledger.fd_.get(), LOCK_EX | LOCK_NB) != 0) {
    Error error{ErrorCode::kUsage, "another watcher writes here",
                "stop it first, or name another file"};
    error.path = path;
    return tl::unexpected(std::move(error));
  }
  if (auto read = ledger.read_back(path); !read) {
    return tl::unexpected(read.error());
  }
  return ledger;
}

Result<void> WatchLedger::read_back(const std::string& path) {
  std::string text;
  std::array<char, 65536> buffer;
  for (;;) {
    const ssize_t got = ::read(fd_.get(), buffer.data(), buffer.size());
    if (got < 0 && errno == EINTR) continue;
    if (got < 0) return trouble(ErrorCode::kReadFailed, path, "cannot read");
    if (got == 0) break;
    text.append(buffer.data(), static_cast<std::size_t>(got));
  }
  const std::size_t whole = text.rfind('\n') + 1;  // npos + 1 is 0
  std::int64_t number = 0;
  for (std::size_t from = 0; from < whole;) {
    const std::size_t to = text.find('\n', from);
    ++number;
    auto taken =
        take_line(std::string_view(text).substr(from, to - from), number, path);
    if (!taken) return taken;
    from = to + 1;
  }
  // What follows the last line end was never finished. Only what a watcher
  // began to write is taken off.
  const std::string_view rest = std::string_view(text).substr(whole);
  if (rest.empty()) return {};
  const std::size_t begun = std::min(rest.size(), kBeginning.size());
  if (rest.substr(0, begun) != kBeginning.substr(0, begun)) {
    return no_ledger(path, number + 1);
  }
  if (ftruncate(fd_.get(), static_cast<off_t>(whole)) != 0) {
    return trouble(ErrorCode::kWriteFailed, path, "cannot shorten");
  }
  return {};
}

Result<void> WatchLedger::take_line(std::string_view line, std::int64_t number,
                                    const std::string& path) {
  const auto tree = nlohmann::json::parse(line, nullptr, false);
  const auto watched = tree.is_object() ? tree.find("watched") : tree.end();
  if (!tree.is_object() || watched == tree.end() || !watched->is_object() ||
      !watched->value("name", nlohmann::json()).is_string() ||
      !watched->value("bytes", nlohmann::json()).is_number_integer() ||
      !watched->value("modified_ns", nlohmann::json()).is_number_integer()) {
    return no_ledger(path, number);
  }
  done_.emplace((*watched)["name"].get<std::string>(),
                (*watched)["bytes"].get<std::int64_t>(),
                (*watched)["modified_ns"].get<std::int64_t>(),
                watched->value("question", std::string()));
  return {};
}

bool WatchLedger::has(const WatchedFile& file) const {
  return done_.contains({file.name, file.bytes, file.modified_ns, question_});
}

Result<void> WatchLedger::add(const Record& record) {
  const auto line = json_line(record);
  if (!line) return tl::unexpected(line.error());
  if (auto put = write_all(fd_.get(), *line, path_); !put) return put;
  if (retried([this] { return fdatasync(fd_.get()); }) != 0 &&
      errno != EINVAL && errno != EROFS) {
    return trouble(ErrorCode::kWriteFailed, path_, "cannot force to the disk");
  }
  const WatchedFile& file = *record.watched;
  done_.emplace(file.name, file.bytes, file.modified_ns, question_);
  return {};
}

}  // namespace clockassay
