// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/progress_line.h"

#include <sys/ioctl.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <cstdint>

#include "app/file_descriptor.h"
#include "clockassay/base/printable.h"
#include "clockassay/base/utf8.h"

namespace clockassay {
namespace {

constexpr std::chrono::milliseconds kFirst(500);    // shorter waits are none
constexpr std::chrono::milliseconds kBetween(100);  // ten times a second
constexpr std::size_t kPlainWidth = 80;   // columns, where none are known
constexpr std::size_t kShortestName = 8;  // columns

// "1.23 GB": three digits and a decimal prefix.
std::string bytes_text(double bytes) {
  constexpr std::array kPrefixes = {"", "k", "M", "G", "T", "P", "E"};
  constexpr double kStep = 1000.0;
  std::size_t prefix = 0;
  while (bytes >= kStep && prefix + 1 < kPrefixes.size()) {
    bytes /= kStep;
    ++prefix;
  }
  const int decimals = prefix == 0 || bytes >= 100.0 ? 0
                       : bytes >= 10.0               ? 1
                                                     : 2;
  std::array<char, 32> text;
  const auto end = std::to_chars(text.data(), text.data() + text.size(), bytes,
                                 std::chars_format::fixed, decimals);
  return std::string(text.data(), end.ptr) + ' ' + kPrefixes[prefix] + 'B';
}

std::string time_left_text(double seconds) {
  constexpr double kLongest = 359999.0;  // 99 hours: beyond it nobody waits
  const auto whole =
      std::int64_t{std::llround(std::clamp(seconds, 0.0, kLongest))};
  const auto two = [](std::int64_t n) {
    return (n < 10 ? ":0" : ":") + std::to_string(n);
  };
  if (whole < 60) return std::to_string(whole) + " s left";
  if (whole < 3600) {
    return std::to_string(whole / 60) + two(whole % 60) + " min left";
  }
  return std::to_string(whole / 3600) + two(whole / 60 % 60) + " h left";
}

// The last `columns` characters; every one is taken for two columns wide where
// it may be.
std::string shortened(const std::string& path, std::size_t columns) {
  std::string name = path == "-" ? "standard input" : printable(path);
  std::size_t width = 0;
  std::size_t begin = name.size();
  while (begin > 0) {
    std::size_t at = begin - 1;
    while (at > 0 && (static_cast<unsigned char>(name[at]) & 0xC0U) == 0x80U) {
      --at;
    }
    const std::size_t more =
        static_cast<unsigned char>(name[at]) < 0x80U ? 1 : 2;
    if (width + more + (at > 0 ? 1 : 0) > columns) break;
    width += more;
    begin = at;
  }
  return begin == 0 ? name : "…" + name.substr(begin);
}

std::size_t terminal_width() {
  winsize size{};
  if (::ioctl(STDERR_FILENO, TIOCGWINSZ, &size) != 0 || size.ws_col == 0) {
    return kPlainWidth;
  }
  return size.ws_col;
}

void write_to_terminal(const std::string& text) {
  // Nobody can be told when standard error fails.
  (void)write_all(STDERR_FILENO, text, "standard error");
}

}  // namespace

std::string progress_text(const ReadingProgress& p, std::size_t width) {
  const auto bytes = static_cast<double>(p.bytes);
  std::string text = "  " + bytes_text(bytes);
  const double rate = p.seconds > 0.0 ? bytes / p.seconds : 0.0;
  const bool known = p.total && *p.total > 0 && p.bytes <= *p.total;
  if (known) {
    text += " of " + bytes_text(static_cast<double>(*p.total)) + " (" +
            std::to_string(100 * p.bytes / *p.total) + " %)";
  }
  if (rate > 0.0) text += "  " + bytes_text(rate) + "/s";
  if (known && rate > 0.0) {
    text +=
        "  " + time_left_text(static_cast<double>(*p.total - p.bytes) / rate);
  }
  // One column is left free: some terminals wrap when the last one is used.
  const std::size_t room = std::max<std::size_t>(width, 1) - 1;
  if (text.size() + kShortestName > room) {
    return text.size() > room + 2 ? "" : text.substr(2);
  }
  return shortened(p.path, room - text.size()) + text;
}

ProgressLine::ProgressLine(bool wanted, std::string path,
                           std::optional<std::int64_t> total)
    : wanted_(wanted && ::isatty(STDERR_FILENO) == 1),
      progress_{std::move(path), 0, total, 0.0},
      begin_(Clock::now()),
      next_(begin_ + kFirst) {}

void ProgressLine::show(std::int64_t bytes) {
  if (!wanted_) return;
  const Clock::time_point now = Clock::now();
  if (now < next_) return;
  next_ = now + kBetween;
  progress_.bytes = bytes;
  progress_.seconds = std::chrono::duration<double>(now - begin_).count();
  const std::size_t width = terminal_width();
  const std::string text = progress_text(progress_, width);
  // Blanks over the rest of what was there, which was as wide as it may be.
  std::size_t columns = 0;
  for (std::string_view rest = text; !rest.empty(); ++columns) {
    rest.remove_prefix(first_code_point(rest).bytes);
  }
  std::string line = '\r' + text;
  if (shown_columns_ > columns) line.append(shown_columns_ - columns, ' ');
  write_to_terminal(line);
  shown_columns_ = columns;
}

void ProgressLine::erase() {
  if (shown_columns_ == 0) return;
  const std::size_t width = std::min(terminal_width() - 1, 2 * shown_columns_);
  write_to_terminal('\r' + std::string(width, ' ') + '\r');
  shown_columns_ = 0;
}

}  // namespace clockassay
