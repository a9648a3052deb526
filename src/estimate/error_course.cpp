// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/estimate/error_course.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>
#include <span>

namespace clockassay {
namespace {

std::optional<ErrorPart> part_at(const TimeIntervalErrors& errors,
                                 std::int64_t first, std::int64_t count) {
  std::array<double, 1024> some;
  std::optional<ErrorPart> part;
  for (std::int64_t done = 0; done < count;) {
    const auto size =
        std::min(count - done, static_cast<std::int64_t>(some.size()));
    const std::span now(some.data(), static_cast<std::size_t>(size));
    errors.read(first + done, now);
    for (const double error : now) {
      if (std::isnan(error)) continue;
      if (!part) part = ErrorPart{first, count, error, error};
      part->least = std::min(part->least, error);
      part->most = std::max(part->most, error);
    }
    done += size;
  }
  return part;
}

}  // namespace

std::vector<ErrorPart> course_of(const TimeIntervalErrors& errors,
                                 std::size_t parts,
                                 const ParallelFor& parallel_for) {
  const std::int64_t cycles = errors.count();
  const auto most = static_cast<std::int64_t>(parts);
  const std::int64_t each = (cycles + most - 1) / most;
  const auto count = static_cast<std::size_t>((cycles + each - 1) / each);
  std::vector<std::optional<ErrorPart>> found(count);
  parallel_for(count, [&](std::size_t i) {
    const std::int64_t first = static_cast<std::int64_t>(i) * each;
    found[i] = part_at(errors, first, std::min(each, cycles - first));
  });
  std::vector<ErrorPart> course;
  for (const auto& part : found) {
    if (part) course.push_back(*part);
  }
  return course;
}

}  // namespace clockassay
