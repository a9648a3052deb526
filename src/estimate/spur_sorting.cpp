// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/spur_sorting.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <optional>
#include <utility>

namespace clockassay {
namespace {

/// Spurs whose sidelines are looked at. Chosen: weaker ones have weaker ones.
constexpr std::size_t kMostModulating = 8;
/// Images within so many bins beat with a line in the three bins that its
/// place and size are of. Chosen: of one that is two bins from the outer of
/// them the window leaves a fifth.
constexpr double kBeatingBins = 3.0;

/// Amplitude that a line has at least.
double surely(const SpectralLine& line) {
  return line.amplitude - kSameWithin * line.amplitude_uncertainty;
}

class Sorter {
 public:
  explicit Sorter(const SamplingImages& images)
      : plain_(images), images_(images) {}

  /// The image that a line may be.
  std::optional<ImageName> image_of(const SpectralLine& line) const {
    const auto found = images_.explain(line);
    if (found.most() < surely(line)) return std::nullopt;
    return found.strongest;
  }

  /// What images, its own among them, may add to a spur is among its
  /// uncertainties: they have any phase, and one as large as it would move it
  /// by half a bin. Its own do not make it one of them.
  SpurLine add_spur(SpectralLine spur) {
    const auto others = images_.explain(spur, kBeatingBins);
    if (++spurs_ <= kMostModulating) images_.add_spur(spur);
    SpurLine out;
    const double unsure =
        std::hypot(spur.amplitude_uncertainty, others.likely_rms());
    if (others.most() >= surely(spur) &&
        spur.amplitude < kSameWithin * unsure) {
      out.perhaps = others.strongest;
    }
    const auto about = images_.explain(spur, kBeatingBins);
    const double image = std::min(spur.amplitude, about.likely_rms());
    spur.amplitude_uncertainty = std::hypot(spur.amplitude_uncertainty, image);
    spur.standard_uncertainty_hz =
        std::hypot(spur.standard_uncertainty_hz,
                   0.5 * image / spur.amplitude * spur.bin_hz);
    out.line = spur;
    return out;
  }

  /// The line among `lines`, which are no images, that is the clock's own if
  /// the first of them is a sideline of an image.
  std::size_t own_line(const std::vector<SpectralLine>& lines) const {
    return lower_twin(plain_, lines, lines.front()).value_or(0);
  }

 private:
  const SamplingImages& plain_;
  SamplingImages images_;
  std::size_t spurs_ = 0;
};

/// Of lines far above all that sampling makes most is the clock's own. What it
/// adds to them is of any size up to that and of any phase: u = most / sqrt(6).
SortedLines sort_by_size(const std::vector<SpectralLine>& lines, double most) {
  constexpr double kFarAbove = 2.5;  // chosen: six of these u
  SortedLines sorted;
  sorted.unsorted_up_to = kFarAbove * most;
  for (SpectralLine line : lines) {
    if (line.amplitude <= sorted.unsorted_up_to) {
      sorted.unsorted.push_back(line);
      continue;
    }
    const double added = most / std::sqrt(6.0);
    line.amplitude_uncertainty = std::hypot(line.amplitude_uncertainty, added);
    line.standard_uncertainty_hz =
        std::hypot(line.standard_uncertainty_hz,
                   0.5 * added / line.amplitude * line.bin_hz);
    sorted.spurs.push_back({line, {}});
  }
  return sorted;
}

}  // namespace

SortedLines sort_lines(std::vector<SpectralLine> lines,
                       const std::optional<SampledClock>& clock,
                       const LineLimits& limits) {
  std::stable_sort(
      lines.begin(), lines.end(),
      [](const auto& a, const auto& b) { return a.amplitude > b.amplitude; });
  SortedLines sorted;
  if (!clock) return sort_by_size(lines, limits.by_sampling);
  const SamplingImages images(*clock, limits.least);
  Sorter sorter(images);
  std::vector<SpectralLine> open = std::move(lines);
  while (!open.empty()) {
    std::vector<SpectralLine> unexplained;
    for (const SpectralLine& line : open) {
      if (const auto name = sorter.image_of(line)) {
        sorted.images.push_back({line, *name});
      } else {
        unexplained.push_back(line);
      }
    }
    open = std::move(unexplained);
    if (open.empty()) break;
    const std::size_t own = sorter.own_line(open);
    sorted.spurs.push_back(sorter.add_spur(open[own]));
    open.erase(open.begin() + static_cast<std::ptrdiff_t>(own));
  }
  return sorted;
}

}  // namespace clockassay
