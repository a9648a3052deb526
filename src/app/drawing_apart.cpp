// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/drawing_apart.h"

#include <fcntl.h>
#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <cstdint>
#include <cstring>
#include <new>
#include <optional>
#include <string_view>
#include <utility>

#include "app/error_of_exception.h"
#include "app/file_descriptor.h"
#include "clockassay/report/html_report.h"

namespace clockassay {
namespace {

Result<std::vector<std::string>> draw(const std::vector<Chart>& charts) {
  std::vector<std::string> pictures;
  for (const Chart& chart : charts) {
    auto drawn = svg_chart(chart);
    if (!drawn) return tl::unexpected(drawn.error());
    pictures.push_back(*std::move(drawn));
  }
  return pictures;
}

// What goes through the pipe: the error code, or kDrawn and how many texts;
// then texts, each after its length.
constexpr std::uint64_t kDrawn = ~std::uint64_t{0};

void put(std::uint64_t number, std::string& out) {
  out.append(reinterpret_cast<const char*>(&number), sizeof number);
}

void put(const std::string& text, std::string& out) {
  put(text.size(), out);
  out += text;
}

std::string packed(const Result<std::vector<std::string>>& drawn) {
  std::string out;
  if (drawn) {
    put(kDrawn, out);
    put(drawn->size(), out);
    for (const std::string& picture : *drawn) put(picture, out);
  } else {
    put(static_cast<std::uint64_t>(drawn.error().code), out);
    put(drawn.error().message, out);
    put(drawn.error().hint, out);
  }
  return out;
}

bool take(std::string_view& from, std::uint64_t& number) {
  if (from.size() < sizeof number) return false;
  std::memcpy(&number, from.data(), sizeof number);
  from.remove_prefix(sizeof number);
  return true;
}

bool take(std::string_view& from, std::string& text) {
  std::uint64_t size = 0;
  if (!take(from, size) || from.size() < size) return false;
  text = from.substr(0, size);
  from.remove_prefix(size);
  return true;
}

// `status` as waitpid() gives it.
tl::unexpected<Error> ended_early(int status) {
  std::string how = "ended";
  if (WIFSIGNALED(status)) {
    const int signal = WTERMSIG(status);
    how = "was ended by signal " + std::to_string(signal) + " (" +
          ::strsignal(signal) + ")";
  }
  return failure(
      ErrorCode::kCannotCreate,
      "the plotting library " + how + " before what it draws was whole",
      "give it more memory, or install the package libplplot17 again");
}

Result<std::vector<std::string>> unpacked(std::string_view bytes, int status) {
  std::uint64_t code = 0;
  if (!take(bytes, code)) return ended_early(status);
  if (code != kDrawn) {
    Error error{static_cast<ErrorCode>(code), ""};
    if (!take(bytes, error.message) || !take(bytes, error.hint)) {
      return ended_early(status);
    }
    return tl::unexpected(std::move(error));
  }
  std::uint64_t count = 0;
  if (!take(bytes, count)) return ended_early(status);
  std::vector<std::string> texts;
  for (; count > 0; --count) {
    if (!take(bytes, texts.emplace_back())) return ended_early(status);
  }
  return texts;
}

// A bug of ours is told as that; where memory runs out no more is said.
std::string made_and_packed(const TextMaker& make) {
  try {
    return packed(make());
  } catch (const std::bad_alloc&) {
    return {};
  } catch (const std::exception& e) {
    return packed(tl::unexpected(error_of(e, "")));
  }
}

// In the process that makes them. Whatever ends it, the other sees too few
// bytes.
[[noreturn]] void make_and_end(const TextMaker& make, int from, int to) {
  // Without a reader what is written fails, and does not wait for ever.
  ::close(from);
  int code = 1;
  try {
    const std::string made = made_and_packed(make);
    if (!made.empty() && write_all(to, made, "")) code = 0;
  } catch (...) {
    // Nothing of what follows in the program is this process's.
  }
  ::_exit(code);
}

// Waited for at the latest when it goes, so that none is left behind.
class Maker {
 public:
  explicit Maker(pid_t pid) : pid_(pid) {}
  Maker(const Maker&) = delete;
  Maker& operator=(const Maker&) = delete;
  ~Maker() {
    if (pid_ > 0) (void)wait();
  }

  /// As waitpid() gives it.
  int wait() {
    int status = 0;
    (void)retried([&] { return ::waitpid(pid_, &status, 0); });
    pid_ = 0;
    return status;
  }

 private:
  pid_t pid_;
};

tl::unexpected<Error> cannot_begin() {
  Error error = system_error(ErrorCode::kCannotCreate, "cannot draw", "");
  error.hint =
      "it takes a process of its own: let there be more processes (ulimit -u), "
      "or do without pages and pictures";
  return tl::unexpected(std::move(error));
}

std::string everything_from(int fd) {
  std::string bytes;
  std::array<char, 65536> buffer;
  while (true) {
    const ssize_t got =
        retried([&] { return ::read(fd, buffer.data(), buffer.size()); });
    if (got <= 0) return bytes;
    bytes.append(buffer.data(), static_cast<std::size_t>(got));
  }
}

}  // namespace

Result<std::vector<std::string>> made_apart(const TextMaker& make) {
  int ends[2];
  if (::pipe2(ends, O_CLOEXEC) != 0) return cannot_begin();
  // Its reading end is closed before it is waited for.
  std::optional<Maker> maker;
  const FileDescriptor from(ends[0]);
  FileDescriptor to(ends[1]);
  const pid_t pid = ::fork();
  if (pid < 0) return cannot_begin();
  if (pid == 0) make_and_end(make, from.get(), to.get());
  maker.emplace(pid);
  to.close();
  const std::string bytes = everything_from(from.get());
  return unpacked(bytes, maker->wait());
}

Result<std::vector<std::string>> draw_apart(const std::vector<Chart>& charts) {
  if (charts.empty()) return std::vector<std::string>();
  return made_apart([&charts] { return draw(charts); });
}

}  // namespace clockassay
