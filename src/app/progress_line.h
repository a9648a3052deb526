// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <chrono>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>

namespace clockassay {

/// How far the reading of one input is.
struct ReadingProgress {
  std::string path;
  std::int64_t bytes = 0;             ///< read so far
  std::optional<std::int64_t> total;  ///< of the file, where it has an end
  double seconds = 0.0;               ///< since the beginning
};

/// One line of less than `width` columns: the name, shortened from the front
/// and printable; bytes of the total, percent, rate, time left.
std::string progress_text(const ReadingProgress& progress, std::size_t width);

/// Shows on standard error, if it is a terminal, how far the reading of one
/// input is: after half a second, at most ten times a second, on one line that
/// is rewritten. It is gone when the object is: whoever prints comes after.
class ProgressLine {
 public:
  ProgressLine(bool wanted, std::string path,
               std::optional<std::int64_t> total);
  ~ProgressLine() { erase(); }
  ProgressLine(const ProgressLine&) = delete;
  ProgressLine& operator=(const ProgressLine&) = delete;
  void show(std::int64_t bytes);
  void erase();

 private:
  using Clock = std::chrono::steady_clock;

  bool wanted_;
  ReadingProgress progress_;
  Clock::time_point begin_;
  Clock::time_point next_;
  std::size_t shown_columns_ = 0;
};

}  // namespace clockassay
