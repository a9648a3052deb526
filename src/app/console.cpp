// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/console.h"

#include <fcntl.h>
#include <unistd.h>

#include <cerrno>
#include <csignal>
#include <cstdlib>

#include "app/file_descriptor.h"
#include "app/unfinished_files.h"
#include "clockassay/report/error_text.h"

namespace clockassay {
namespace {

constexpr const char* kStandardOutput = "standard output";

bool output_closed = false;  // set once a write found no reader

}  // namespace

void prepare_console() {
  // A closed pipe and a limit on the size of files are errors of the write.
  std::signal(SIGPIPE, SIG_IGN);
  std::signal(SIGXFSZ, SIG_IGN);
  clean_up_on_signals();
  // Opened the wrong way round, so that using them fails as if closed; only
  // messages may vanish.
  constexpr int kModes[] = {O_WRONLY, O_RDONLY, O_WRONLY};
  for (int fd = STDIN_FILENO; fd <= STDERR_FILENO; ++fd) {
    if (::fcntl(fd, F_GETFD) >= 0) continue;
    // The lowest free number is fd itself, as those below it are open.
    if (::open("/dev/null", kModes[fd]) != fd) std::abort();
  }
}

Result<void> print(std::string_view text) {
  const auto written = write_all(STDOUT_FILENO, text, kStandardOutput);
  if (!written) output_closed = errno == EPIPE || errno == EBADF;
  return written;
}

void complain(const Error& error) {
  if (error.path == kStandardOutput && output_closed) return;
  // Nobody can be told when standard error fails.
  (void)write_all(STDERR_FILENO, error_text(error), "standard error");
}

void complain_of_memory() {
  constexpr std::string_view kText = "clockassay: not enough memory\n";
  // Nobody can be told when standard error fails.
  if (::write(STDERR_FILENO, kText.data(), kText.size()) < 0) return;
}

bool wants_color(ColorWhen when) {
  if (when != ColorWhen::kAuto) return when == ColorWhen::kAlways;
  const char* no_color = std::getenv("NO_COLOR");
  if (no_color != nullptr && *no_color != '\0') return false;
  return ::isatty(STDOUT_FILENO) == 1;
}

}  // namespace clockassay
