// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/estimate/frequency_steps.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <optional>
#include <span>
#include <utility>

#include "base/median.h"
#include "estimate/broken_line.h"
#include "estimate/phase_parts.h"
#include "estimate/sampling_beat.h"
#include "estimate/step_place.h"

namespace clockassay {
namespace {

/// Below this many parts nothing is told apart. Chosen: two lines of three, and
/// one more than the part between them.
constexpr std::size_t kFewestParts = 8;

/// What the parts of one view look like.
struct Course {
  PhaseParts phase;
  std::vector<WeighedPoint> points;
  double variance = 0.0;  ///< of one edge about its part's line [ticks²]
};

/// The middle one of the parts' own variances: a change within one part, or a
/// few, says nothing about the rest. Sampling alone makes a twelfth.
double edge_variance(const std::vector<PhasePart>& parts, double window) {
  std::vector<double> all;
  for (const PhasePart& p : parts) all.push_back(p.variance);
  return std::max(median(std::move(all)), window * window / 12.0);
}

Course course_of(const EdgeView& view, double window,
                 const ParallelFor& parallel_for) {
  Course course;
  course.phase = make_phase_parts(view, parallel_for);
  if (course.phase.parts.size() < kFewestParts) return course;
  course.variance = edge_variance(course.phase.parts, window);
  for (const PhasePart& p : course.phase.parts) {
    course.points.push_back({p.k, p.y, p.n / course.variance});
  }
  return course;
}

PointLine line_of(const Course& course, const PointRange& r) {
  return line_through(
      std::span(course.points).subspan(r.first, r.last - r.first + 1));
}

/// The most that sampling moves the mean place of each part, as a mean square
/// [ticks²], whichever of the lines' slopes is right. Where the samples are not
/// known, anything a window allows.
std::vector<double> beats_of(const Course& course, const BrokenLine& lines,
                             const TickScale& scale) {
  const double window = scale.window_ticks.to_double();
  if (!scale.sample_ticks) {
    return std::vector<double>(course.points.size(), window * window / 12.0);
  }
  const double sample = scale.sample_ticks->to_double();
  // Edges locked to the sampler may show a quarter without any jitter.
  const double jitter =
      std::sqrt(std::max(0.0, course.variance / (sample * sample) - 0.25));
  std::vector<double> beats(course.points.size());
  for (const PointRange& r : lines.ranges) {
    const double period = (static_cast<double>(course.phase.frame.period) +
                           line_of(course, r).slope) /
                          sample;
    double n = 0.0, beat = 0.0;
    for (std::size_t i = 0; i < beats.size(); ++i) {
      // Parts of as many edges follow each other.
      if (i == 0 || course.phase.parts[i].n != n) {
        n = course.phase.parts[i].n;
        beat = sample * sample * sampling_beat(period, n, jitter);
      }
      beats[i] = std::max(beats[i], beat);
    }
  }
  return beats;
}

/// What sampling adds at most to the weighed squares of points: a fifth more
/// than its mean squares, since few beats need not be average ones.
double beat_squares(std::span<const WeighedPoint> points,
                    std::span<const double> beats) {
  constexpr double kUneven = 1.2;  // chosen
  double squares = 0.0;
  for (std::size_t i = 0; i < beats.size(); ++i) {
    squares += kUneven * beats[i] * points[i].weight;
  }
  return squares;
}

/// Expected squares about that many lines, and how far chance takes them.
struct Expected {
  double mean = 0.0;
  double deviation = 0.0;
};

Expected expected_squares(std::size_t points, std::size_t lines) {
  const double freedom =
      std::max(1.0, static_cast<double>(points) -
                        3.0 * static_cast<double>(lines) + 1.0);
  return {freedom, std::sqrt(2.0 * freedom)};
}

/// How many lines it takes, less one; absent: no number of them is the right
/// picture. The fewest that leave no more than chance and sampling do, and that
/// no more lines improve on; or, where the edges wander about any lines, those
/// that explain nearly all that fewer leave.
std::optional<std::size_t> changes_needed(const std::vector<BrokenLine>& found,
                                          std::size_t points, double beat) {
  constexpr double kDeviations = 4.0;  // chosen: by chance once in 1e4
  // Chosen: with normal jitter three parameters gain that once in 1e8.
  constexpr double kGain = 40.0;
  constexpr double kLeft = 0.05;  // chosen by simulation
  const auto explains = [&](std::size_t l) {
    const Expected e = expected_squares(points, l + 1);
    return found[l].squares <= e.mean + kDeviations * e.deviation + beat;
  };
  const auto improves = [&](std::size_t l, std::size_t more) {
    return found[l].squares - found[more].squares >
           kGain * static_cast<double>(more - l) + beat;
  };
  for (std::size_t l = 0; l < found.size(); ++l) {
    if (!explains(l)) continue;
    bool improved = false;
    for (std::size_t m = l + 1; m < found.size(); ++m)
      improved |= improves(l, m);
    if (!improved) return l;
  }
  for (std::size_t l = 1; l + 1 < found.size(); ++l) {
    if (found[l].squares < kLeft * found[l - 1].squares) return l;
  }
  return std::nullopt;
}

/// Whether smooth curves leave so many times what the lines leave: drift,
/// settling and wander of the frequency do not step.
bool beats_smooth(std::span<const WeighedPoint> points, const BrokenLine& lines,
                  double beat, double times) {
  const std::size_t count = lines.ranges.size();
  const Expected e = expected_squares(points.size(), count);
  const double smooth = smooth_squares(points, count) - e.mean;
  const double rest = std::max(0.0, lines.squares - e.mean);
  return smooth > times * (rest + e.deviation + beat);
}

/// The lines through points that show steps, or the one that needs none;
/// absent: neither is the right picture.
std::optional<BrokenLine> lines_through(std::span<const WeighedPoint> points,
                                        std::span<const double> beats,
                                        double times_smoother) {
  const auto found = best_broken_lines(points);
  const double beat = beat_squares(points, beats);
  const auto changes = changes_needed(found, points.size(), beat);
  if (!changes) return std::nullopt;
  const BrokenLine& lines = found[*changes];
  if (*changes > 0 && !beats_smooth(points, lines, beat, times_smoother)) {
    return std::nullopt;
  }
  return lines;
}

/// The lines through all parts; where there are none because the frequency
/// wanders, those through the longest end that has some: an oscillator that
/// wanders may give way to one that does not.
BrokenLine lines_of(const Course& course, const std::vector<double>& beats) {
  // Chosen by simulation: flicker and a walk of the frequency show a step in
  // 0 to 5 of a hundred captures. Ends are many, and so four times that.
  constexpr double kSmoother = 5.0;
  constexpr double kSmootherEnd = 4.0 * kSmoother;
  constexpr std::size_t kStride = 4;  // chosen: of a few dozen parts in all
  const std::span points(course.points);
  if (auto all = lines_through(points, beats, kSmoother)) return *all;
  for (std::size_t first = kStride; first + kFewestParts <= points.size();
       first += kStride) {
    auto end = lines_through(points.subspan(first),
                             std::span(beats).subspan(first), kSmootherEnd);
    if (!end) continue;
    for (PointRange& r : end->ranges) r = {r.first + first, r.last + first};
    return *end;
  }
  return {};
}

/// How far sampling may move all edges of a part together: evenly distributed
/// over that length, so the root of twelve times the square.
double shift_of(double beat) {
  return std::sqrt(12.0 * beat);
}

/// The parts first … first + count - 1 as one.
FrequencyPart taken_together(const Course& course,
                             const std::vector<double>& beats,
                             std::size_t first, std::size_t count) {
  // The worst that a shift of one half against the other does to a line.
  constexpr double kWorst = 1.5;
  constexpr double kDeviations = 5.0;  // chosen: by chance once in a million
  const auto parts = std::span(course.phase.parts).subspan(first, count);
  double n = 0.0, k = 0.0, y = 0.0, squares = 0.0, beat = beats[first];
  for (std::size_t i = 0; i < count; ++i) {
    const PhasePart& p = parts[i];
    n += p.n;
    k += p.n * p.k;
    y += p.n * p.y;
    squares += p.n * std::max(p.variance, course.variance);
    beat = std::min(beat, beats[first + i]);  // more edges, less of it
  }
  k /= n;
  y /= n;
  double kk = 0.0, ky = 0.0;
  for (const PhasePart& p : parts) {
    kk += p.kk + p.n * (p.k - k) * (p.k - k);
    ky += p.slope * p.kk + p.n * (p.k - k) * (p.y - y);
  }
  const double slope = ky / kk;
  const EdgeFrame& frame = course.phase.frame;
  const auto tick = [&](std::int64_t at) {
    const double off = y + slope * (static_cast<double>(at) - k);
    return frame.origin + Ticks(frame.period * at + std::llround(off));
  };
  FrequencyPart all;
  all.from = tick(parts.front().first_cycle);
  all.to = tick(parts.back().last_cycle);
  all.period_ticks = static_cast<double>(frame.period) + slope;
  all.most_off_ticks =
      kDeviations * std::sqrt(squares / n / kk) + kWorst * shift_of(beat) / n;
  return all;
}

std::vector<FrequencyPart> parts_of(const Course& course,
                                    const std::vector<double>& beats) {
  std::vector<FrequencyPart> parts;
  for (std::size_t count = 1; 2 * count <= beats.size(); count *= 2) {
    const std::size_t step = std::max<std::size_t>(1, count / 2);
    for (std::size_t i = 0; i + count <= beats.size(); i += step) {
      parts.push_back(taken_together(course, beats, i, count));
    }
  }
  return parts;
}

StepLines lines_at(const Course& course, const PointRange& before,
                   const PointRange& after, const std::vector<double>& beats) {
  const auto& parts = course.phase.parts;
  StepLines lines;
  lines.before = line_of(course, before);
  lines.after = line_of(course, after);
  // As many parts to either side as every line has.
  constexpr std::size_t kReach = kFewestPoints - 1;
  lines.from_cycle = parts[before.last - kReach].first_cycle;
  lines.to_cycle = parts[after.first + kReach].last_cycle;
  lines.variance = course.variance;
  lines.shift = shift_of(std::max(beats[before.last], beats[after.first]));
  return lines;
}

}  // namespace

FrequencyCourse follow_frequency(const EdgeView& view, const TickScale& scale,
                                 const ParallelFor& parallel_for) {
  FrequencyCourse out;
  if (!has_two_rising_edges(view)) return out;
  const Course course =
      course_of(view, scale.window_ticks.to_double(), parallel_for);
  if (course.points.empty()) return out;
  const auto beats =
      beats_of(course, best_broken_lines(course.points).back(), scale);
  out.parts = parts_of(course, beats);
  const BrokenLine lines = lines_of(course, beats);
  for (std::size_t i = 1; i < lines.ranges.size(); ++i) {
    out.steps.push_back(place_step(
        view, course.phase,
        lines_at(course, lines.ranges[i - 1], lines.ranges[i], beats)));
  }
  return out;
}

}  // namespace clockassay
