// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/taken_at.h"

#include <sys/stat.h>

#include <cmath>
#include <cstdio>
#include <ctime>

#include "clockassay/base/printable.h"

namespace clockassay {
namespace {

constexpr double kNano = 1e-9;

tl::unexpected<Error> no_time(std::string_view text) {
  return failure(ErrorCode::kUsage,
                 "found \"" + printable(text) + "\", expected a time in UTC",
                 "such as 2026-01-05T10:00:00Z");
}

// A day or second that there is not is moved on by the calendar: then it reads
// otherwise afterwards.
bool reads_the_same(const std::tm& a, const std::tm& b) {
  return a.tm_year == b.tm_year && a.tm_mon == b.tm_mon &&
         a.tm_mday == b.tm_mday && a.tm_hour == b.tm_hour &&
         a.tm_min == b.tm_min && a.tm_sec == b.tm_sec;
}

}  // namespace

Result<double> parse_utc(std::string_view text) {
  const std::string whole(text);
  std::tm time{};
  const char* rest = strptime(whole.c_str(), "%Y-%m-%d", &time);
  if (rest != nullptr && *rest == 'T') {
    rest = strptime(rest, "T%H:%M:%SZ", &time);
  }
  if (rest == nullptr || *rest != '\0') return no_time(text);
  std::tm again = time;
  const std::time_t seconds = timegm(&again);
  if (!reads_the_same(time, again)) return no_time(text);
  return static_cast<double>(seconds);
}

std::string utc_text(double seconds) {
  const auto whole = static_cast<std::time_t>(std::floor(seconds));
  std::tm time{};
  gmtime_r(&whole, &time);
  char text[64];
  std::strftime(text, sizeof text, "%Y-%m-%dT%H:%M:%SZ", &time);
  return text;
}

double taken_at(const std::string& path, const std::vector<Tag>& tags) {
  if (const std::string* stated = find_tag(tags, "taken_at")) {
    if (const auto time = parse_utc(*stated)) return *time;
  }
  struct stat status {};
  if (path != "-" && stat(path.c_str(), &status) == 0) {
    return static_cast<double>(status.st_mtim.tv_sec) +
           kNano * static_cast<double>(status.st_mtim.tv_nsec);
  }
  return static_cast<double>(std::time(nullptr));
}

}  // namespace clockassay
