// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/series_repeats.h"

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>

#include "app/series_reading.h"

namespace clockassay {
namespace {

constexpr double kPpm = 1e-6;

// The path of a stored result was written elsewhere, so it is known by its name
// and the frequency.
bool is_result_of(const TemperaturePoint& a, const TemperaturePoint& b) {
  constexpr double kSame = 1e-12;  // relative: rounding of one estimate
  const auto name = [](const TemperaturePoint& p) {
    return std::filesystem::path(p.capture).filename();
  };
  const double rate_a = 1.0 + a.timebase.offset.value() * kPpm;
  const double rate_b = 1.0 + b.timebase.offset.value() * kPpm;
  return (a.is_stored || b.is_stored) && !a.capture.empty() &&
         name(a) == name(b) &&
         std::abs(a.frequency.value() / rate_a / b.frequency.value() * rate_b -
                  1.0) <= kSame;
}

bool same_bytes(const std::string& a, const std::string& b) {
  std::error_code none;
  const auto size = std::filesystem::file_size(a, none);
  if (none || size != std::filesystem::file_size(b, none) || none) return false;
  std::ifstream left(a, std::ios::binary);
  std::ifstream right(b, std::ios::binary);
  if (!left || !right) return false;
  return std::equal(std::istreambuf_iterator<char>(left), {},
                    std::istreambuf_iterator<char>(right));
}

// One recording gives one frequency, so few files are read again.
bool is_copy(const std::string& series, const TemperaturePoint& a,
             const TemperaturePoint& b) {
  if (a.is_stored || b.is_stored || a.place.source.empty() ||
      b.place.source.empty() || a.frequency.value() != b.frequency.value()) {
    return false;
  }
  return same_bytes(path_beside(series, a.place.source),
                    path_beside(series, b.place.source));
}

bool is_same_row(const TemperaturePoint& a, const TemperaturePoint& b) {
  const auto value = [](const std::optional<Ppm>& u) {
    return u ? u->value() : -1.0;
  };
  return a.place.source.empty() && b.place.source.empty() &&
         a.frequency.value() == b.frequency.value() &&
         value(a.u) == value(b.u) &&
         a.place.temperature_c == b.place.temperature_c &&
         a.place.u_temperature_c == b.place.u_temperature_c &&
         a.place.time_s == b.place.time_s && a.place.sweep == b.place.sweep;
}

std::string line_of(const TemperaturePoint& p) {
  return std::to_string(p.place.line) + ", " + p.place.source;
}

void tell_capture(MeasuredSeries& series, const TemperaturePoint& first,
                  const TemperaturePoint& again) {
  const bool copied = !first.is_stored && !again.is_stored;
  std::string words = "Line " + line_of(again) + ", is the " +
                      (copied ? "capture" : "measurement") + " of line " +
                      line_of(first) +
                      (copied ? ", byte for byte" : ", once more");
  if (first.place.temperature_c != again.place.temperature_c) {
    words += ", at another temperature: one of the two is wrong";
    series.lost.push_back(again.place);
  }
  series.caveats.push_back(words + ": it counts once.");
}

void tell_rows(MeasuredSeries& series, const std::vector<std::int64_t>& lines) {
  if (lines.empty()) return;
  constexpr std::size_t kMost = 5;  // chosen: enough to find them
  std::string list;
  for (std::size_t i = 0; i < std::min(kMost, lines.size()); ++i) {
    list += (i > 0 ? ", " : "") + std::to_string(lines[i]);
  }
  if (lines.size() > kMost) {
    list += " and " + std::to_string(lines.size() - kMost) + " more";
  }
  series.caveats.push_back(
      std::string(lines.size() == 1 ? "Line " : "Lines ") + list +
      ": the same as a line above, to the last digit. Each counts once, for a "
      "copy is no second reading. State time_s where it is one.");
}

}  // namespace

void drop_repeats(MeasuredSeries& series) {
  auto& points = series.points;
  std::vector<std::int64_t> lines;
  for (std::size_t i = 0; i < points.size(); ++i) {
    for (std::size_t k = i + 1; k < points.size();) {
      const TemperaturePoint& a = points[i];
      const TemperaturePoint& b = points[k];
      const bool same_row = is_same_row(a, b);
      if (a.place.board != b.place.board ||
          !(same_row || is_result_of(a, b) || is_copy(series.path, a, b))) {
        ++k;
        continue;
      }
      if (same_row) {
        lines.push_back(b.place.line);
      } else {
        tell_capture(series, a, b);
      }
      points.erase(points.begin() + static_cast<std::ptrdiff_t>(k));
    }
  }
  std::sort(lines.begin(), lines.end());
  tell_rows(series, lines);
}

}  // namespace clockassay
