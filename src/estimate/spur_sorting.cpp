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

class Sorter {
 public:
  explicit Sorter(const SamplingImages& images)
      : plain_(images), images_(images) {}

  /// The image that a line may be.
  std::optional<ImageName> image_of(const SpectralLine& line) const {
    const auto found = images_.explain(line);
    if (found.most() <
        line.amplitude - kSameWithin * line.amplitude_uncertainty) {
      return std::nullopt;
    }
    return found.strongest;
  }

  /// What images, its own among them, may add to a spur is among its
  /// uncertainties: they have any phase, and one as large as it would move it
  /// by half a bin.
  SpectralLine add_spur(SpectralLine spur) {
    if (++spurs_ <= kMostModulating) images_.add_spur(spur);
    const double image =
        std::min(spur.amplitude, images_.explain(spur).likely_rms());
    spur.amplitude_uncertainty = std::hypot(spur.amplitude_uncertainty, image);
    spur.standard_uncertainty_hz =
        std::hypot(spur.standard_uncertainty_hz,
                   0.5 * image / spur.amplitude * spur.bin_hz);
    return spur;
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

}  // namespace

SortedLines sort_lines(std::vector<SpectralLine> lines,
                       const std::optional<SampledClock>& clock, double least) {
  std::stable_sort(
      lines.begin(), lines.end(),
      [](const auto& a, const auto& b) { return a.amplitude > b.amplitude; });
  SortedLines sorted;
  if (!clock) {
    sorted.spurs = std::move(lines);
    return sorted;
  }
  const SamplingImages images(*clock, least);
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
