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
constexpr double kSameSize = 3.0;  // standard uncertainties

class Sorter {
 public:
  Sorter(const std::vector<SampledClock>& clocks, double least)
      : clocks_(clocks), least_(least) {
    for (const SampledClock& clock : clocks) {
      images_.emplace_back(clock, least);
    }
  }

  /// The image that a line may be.
  std::optional<ImageName> image_of(const SpectralLine& line) const {
    const auto found = explain(line);
    if (found.most() <
        line.amplitude - kSameSize * line.amplitude_uncertainty) {
      return std::nullopt;
    }
    return found.strongest;
  }

  /// What images, its own among them, may add to a spur is among its
  /// uncertainties: they have any phase, and one as large as it would move it
  /// by half a bin.
  SpectralLine add_spur(SpectralLine spur) {
    if (++spurs_ <= kMostModulating) {
      for (SamplingImages& images : images_) images.add_spur(spur);
    }
    const double image = std::min(spur.amplitude, explain(spur).likely_rms());
    spur.amplitude_uncertainty = std::hypot(spur.amplitude_uncertainty, image);
    spur.standard_uncertainty_hz =
        std::hypot(spur.standard_uncertainty_hz,
                   0.5 * image / spur.amplitude * spur.bin_hz);
    return spur;
  }

  /// The line among `lines`, which are no images, that is the clock's own if
  /// the first of them is a sideline of an image.
  std::size_t own_line(const std::vector<SpectralLine>& lines) const {
    for (const SampledClock& clock : clocks_) {
      if (const auto twin = lower_twin(clock, least_, lines, lines.front())) {
        return *twin;
      }
    }
    return 0;
  }

 private:
  SamplingImages::Explanation explain(const SpectralLine& line) const {
    SamplingImages::Explanation all;
    for (const SamplingImages& images : images_) all.add(images.explain(line));
    return all;
  }

  const std::vector<SampledClock>& clocks_;
  double least_;
  std::vector<SamplingImages> images_;
  std::size_t spurs_ = 0;
};

}  // namespace

SortedLines sort_lines(std::vector<SpectralLine> lines,
                       const std::vector<SampledClock>& clocks, double least) {
  std::stable_sort(
      lines.begin(), lines.end(),
      [](const auto& a, const auto& b) { return a.amplitude > b.amplitude; });
  Sorter sorter(clocks, least);
  SortedLines sorted;
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
