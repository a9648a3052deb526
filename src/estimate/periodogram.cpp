// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/periodogram.h"

#include <fftw3.h>

#include <algorithm>
#include <cassert>
#include <cmath>
#include <limits>
#include <memory>
#include <mutex>

#include "estimate/fft_planning.h"
#include "estimate/spectral_window.h"

namespace clockassay {
namespace {

/// Parts that are summed by themselves. Chosen: enough for many threads, and
/// their spectra fit into 16 MB.
constexpr std::int64_t kMostParts = 64;
/// A segment may lack one value in so many. Chosen: what interpolation takes
/// off the floor is less than that.
constexpr std::size_t kMayLackOneOf = 64;

struct FreeFft {
  void operator()(void* p) const { fftw_free(p); }
};
using RealBuffer = std::unique_ptr<double[], FreeFft>;
using ComplexBuffer = std::unique_ptr<fftw_complex[], FreeFft>;

/// A transform of so many real values, for any buffers of fftw_alloc.
class RealTransform {
 public:
  explicit RealTransform(std::size_t size) {
    const RealBuffer in(fftw_alloc_real(size));
    const ComplexBuffer out(fftw_alloc_complex(size / 2 + 1));
    const std::lock_guard lock(fft_planning());
    plan_ = fftw_plan_dft_r2c_1d(static_cast<int>(size), in.get(), out.get(),
                                 FFTW_ESTIMATE);
  }
  RealTransform(const RealTransform&) = delete;
  RealTransform& operator=(const RealTransform&) = delete;
  ~RealTransform() {
    const std::lock_guard lock(fft_planning());
    fftw_destroy_plan(plan_);
  }
  void run(double* in, fftw_complex* out) const {
    fftw_execute_dft_r2c(plan_, in, out);
  }

 private:
  fftw_plan plan_ = nullptr;
};

/// Fills in what is not known from its neighbours. False: too much of it.
bool fill_in(std::span<double> x) {
  std::size_t lacking = 0;
  for (const double v : x) lacking += std::isnan(v);
  if (lacking * kMayLackOneOf > x.size()) return false;
  for (std::size_t i = 0; lacking > 0 && i < x.size(); ++i) {
    if (!std::isnan(x[i])) continue;
    std::size_t end = i;
    while (end < x.size() && std::isnan(x[end])) ++end;
    lacking -= end - i;
    const double after = end < x.size() ? x[end] : x[i - 1];
    const double before = i > 0 ? x[i - 1] : after;
    const double step = (after - before) / static_cast<double>(end - i + 1);
    for (std::size_t j = i; j < end; ++j) {
      x[j] = before + step * static_cast<double>(j - i + 1);
    }
  }
  return true;
}

/// Takes the least-squares line off. Out: its slope per value
double take_line_off(std::span<double> x) {
  const auto n = static_cast<double>(x.size());
  const double middle = 0.5 * (n - 1.0);
  double sum = 0.0, moment = 0.0;
  for (std::size_t i = 0; i < x.size(); ++i) {
    sum += x[i];
    moment += (static_cast<double>(i) - middle) * x[i];
  }
  const double mean = sum / n;
  const double slope = moment * 12.0 / (n * (n * n - 1.0));
  for (std::size_t i = 0; i < x.size(); ++i) {
    x[i] -= mean + slope * (static_cast<double>(i) - middle);
  }
  return slope;
}

/// Sums over some segments.
struct PartSum {
  std::vector<double> power;
  std::int64_t segments = 0;
  std::int64_t left_out = 0;
  double noise = 0.0, noise_squares = 0.0;  ///< of medians
  double slope_low = std::numeric_limits<double>::infinity();
  double slope_high = -std::numeric_limits<double>::infinity();
  double slopes = 0.0;
};

/// What a thread works on.
class SegmentSummer {
 public:
  SegmentSummer(const SpectralWindow& window, const RealTransform& transform,
                PartSum& sum)
      : window_(window),
        transform_(transform),
        values_(fftw_alloc_real(window.size())),
        bins_(fftw_alloc_complex(window.size() / 2 + 1)),
        power_(window.size() / 2 + 1),
        sum_(sum) {
    sum.power.assign(window.size() / 2 + 1, 0.0);
  }

  void add(std::span<const double> segment) {
    const std::span<double> x(values_.get(), window_.size());
    std::copy(segment.begin(), segment.end(), x.begin());
    if (!fill_in(x)) {
      ++sum_.left_out;
      return;
    }
    const double slope = take_line_off(x);
    for (std::size_t i = 0; i < x.size(); ++i) x[i] *= window_.values()[i];
    transform_.run(values_.get(), bins_.get());
    for (std::size_t i = 0; i < power_.size(); ++i) {
      const double re = bins_[i][0], im = bins_[i][1];
      power_[i] = re * re + im * im;
      sum_.power[i] += power_[i];
    }
    note(slope);
  }

 private:
  void note(double slope) {
    // Half of all bins have less, whatever lines there are.
    const auto middle =
        power_.begin() + static_cast<std::ptrdiff_t>(power_.size() / 2);
    std::nth_element(power_.begin(), middle, power_.end());
    ++sum_.segments;
    sum_.noise += *middle;
    sum_.noise_squares += *middle * *middle;
    sum_.slopes += slope;
    sum_.slope_low = std::min(sum_.slope_low, slope);
    sum_.slope_high = std::max(sum_.slope_high, slope);
  }

  const SpectralWindow& window_;
  const RealTransform& transform_;
  RealBuffer values_;
  ComplexBuffer bins_;
  std::vector<double> power_;
  PartSum& sum_;
};

void add_part(const PartSum& part, PartSum& all) {
  if (all.power.empty()) all.power.assign(part.power.size(), 0.0);
  for (std::size_t i = 0; i < part.power.size(); ++i) {
    all.power[i] += part.power[i];
  }
  all.segments += part.segments;
  all.left_out += part.left_out;
  all.noise += part.noise;
  all.noise_squares += part.noise_squares;
  all.slopes += part.slopes;
  all.slope_low = std::min(all.slope_low, part.slope_low);
  all.slope_high = std::max(all.slope_high, part.slope_high);
}

/// Segments that hold hardly any of the noise hardly count: edges that meet a
/// sampler at few phases scatter now and then only.
double effective_averages(const PartSum& sum, const SpectralWindow& window) {
  const auto n = static_cast<double>(sum.segments);
  const double shared = window.half_overlap_correlation(0.0, 0.0);
  const double overlap = 1.0 + 2.0 * shared * shared * (n - 1.0) / n;
  const double steady =
      sum.noise_squares > 0.0 ? sum.noise * sum.noise / sum.noise_squares : n;
  return std::max(1.0, std::min(n, steady) / overlap);
}

AveragedPeriodogram finish(PartSum sum, const SpectralWindow& window,
                           double sample_rate) {
  AveragedPeriodogram out;
  out.segments = sum.segments;
  out.left_out = sum.left_out;
  out.bin_hz = sample_rate / static_cast<double>(window.size());
  out.resolution_hz = window.noise_bandwidth() * out.bin_hz;
  if (sum.segments == 0) return out;
  const auto n = static_cast<double>(sum.segments);
  const double scale = 2.0 / (n * sample_rate * window.sum_of_squares());
  out.density = std::move(sum.power);
  for (double& d : out.density) d *= scale;
  out.density.front() *= 0.5;
  out.density.back() *= 0.5;
  out.averages = effective_averages(sum, window);
  const double mean = sum.slopes / n;
  out.slope_spread = std::max(sum.slope_high - mean, mean - sum.slope_low);
  return out;
}

/// Segments first … end - 1 of the series; each keeps half of the one before.
void sum_segments(const SeriesReader& read, std::int64_t first,
                  std::int64_t end, std::size_t size, SegmentSummer& summer) {
  const std::size_t half = size / 2;
  const auto step = static_cast<std::int64_t>(half);
  std::vector<double> values(size);
  read(first * step, std::span(values).first(half));
  for (std::int64_t s = first; s < end; ++s) {
    read((s + 1) * step, std::span(values).last(half));
    summer.add(values);
    std::copy(values.end() - step, values.end(), values.begin());
  }
}

}  // namespace

AveragedPeriodogram average_periodograms(const SeriesReader& read,
                                         const SegmentPlan& plan,
                                         const ParallelFor& parallel_for) {
  const auto size = static_cast<std::int64_t>(plan.segment);
  assert(plan.count >= size);
  const SpectralWindow window(plan.segment);
  const RealTransform transform(plan.segment);
  const std::int64_t segments = (plan.count - size) / (size / 2) + 1;
  const std::int64_t per_part = (segments + kMostParts - 1) / kMostParts;
  std::vector<PartSum> parts(
      static_cast<std::size_t>((segments + per_part - 1) / per_part));
  parallel_for(parts.size(), [&](std::size_t i) {
    const std::int64_t first = static_cast<std::int64_t>(i) * per_part;
    SegmentSummer summer(window, transform, parts[i]);
    sum_segments(read, first, std::min(segments, first + per_part),
                 plan.segment, summer);
  });
  PartSum all;
  for (const PartSum& part : parts) add_part(part, all);
  return finish(std::move(all), window, plan.sample_rate);
}

}  // namespace clockassay
