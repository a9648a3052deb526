// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/estimate/spectral_check.h"

#include <fftw3.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <complex>
#include <memory>
#include <mutex>
#include <numbers>
#include <optional>
#include <utility>
#include <vector>

#include "base/simd_level.h"
#include "estimate/fft_planning.h"
#include "estimate/index_search.h"

namespace clockassay {
namespace {

using Complex = std::complex<double>;

constexpr std::int64_t kFewestEdges = 16;
/// Bins of time at most; below kEdgesPerBin edges in each, fewer bins.
constexpr std::size_t kMostBins = 1024;
constexpr std::int64_t kEdgesPerBin = 4;
/// Edges of a bin that are looked at, of many. Chosen: their mean is steady,
/// and more of them would take more time than all else.
constexpr std::size_t kMostPerBin = 64;
/// Zero padding, so that the parabola sees a smooth peak.
constexpr std::size_t kPadding = 8;
/// Up to this many bins the sum is formed directly: planning a transform would
/// cost more.
constexpr std::size_t kDirectBins = 256;

struct Bin {
  double re = 0.0;
  double im = 0.0;
  std::int64_t count = 0;
};

/// What edges are demodulated with.
struct Demodulation {
  double period;  ///< [ticks]
  Ticks origin;
  double bins_per_tick;
  std::size_t bin_count;
  bool all;  ///< edges, or of each bin the first ones only

  std::size_t bin(Ticks time) const {
    const auto t = static_cast<double>((time - origin).count());
    return std::min(bin_count - 1, static_cast<std::size_t>(t * bins_per_tick));
  }
};

using BinSums = std::vector<std::pair<std::size_t, Bin>>;

void add_edge(const Demodulation& d, Ticks time, Bin& sum) {
  const double turns =
      static_cast<double>((time - d.origin).count()) / d.period;
  const double angle = -2.0 * std::numbers::pi * (turns - std::round(turns));
  sum.re += std::cos(angle);
  sum.im += std::sin(angle);
  ++sum.count;
}

/// The first edges of each bin that begins in the block, `before` being the bin
/// of the block before it. In: time_of(i) of `count` rising edges
template <class TimeOf>
BinSums demodulate_edges(const Demodulation& d, std::size_t count,
                         const TimeOf& time_of,
                         std::optional<std::size_t> before) {
  BinSums sums;
  for (std::size_t at = 0; at < count;) {
    const std::size_t bin = d.bin(time_of(at));
    const std::size_t next = first_without(
        at, count, [&](std::size_t i) { return d.bin(time_of(i)) == bin; });
    if (before != bin) {
      const std::size_t upto = d.all ? next : std::min(next, at + kMostPerBin);
      Bin sum;
      for (std::size_t i = at; i < upto; ++i) add_edge(d, time_of(i), sum);
      sums.emplace_back(bin, sum);
    }
    at = next;
  }
  return sums;
}

BinSums demodulate_block(const Demodulation& d, const EdgeView& view,
                         std::size_t index, std::optional<std::size_t> before) {
  // A few edges of many blocks are cheaper one by one.
  if (const auto whole = view.whole_block(index); whole && !d.all) {
    const CycleBlock& cycles = *whole->cycles;
    const auto time_of = [&](std::size_t i) {
      const CycleEdges e = cycle_edges(cycles, static_cast<std::uint32_t>(i));
      const bool rises = whole->rising == Polarity::kRising;
      return cycles.first + Ticks(rises ? e.rise : e.fall);
    };
    return demodulate_edges(d, cycles.count, time_of, before);
  }
  BlockEdges edges;
  view.read_block(index, edges);
  const auto time_of = [&](std::size_t i) {
    return edges.first_tick + Ticks(edges.rise.tick[i]);
  };
  return demodulate_edges(d, edges.rise.count, time_of, before);
}

/// Sums exp(-2 pi i t / P) of rising edges of each bin of time: the first ones
/// of each, or what a block has of them.
std::vector<Bin> demodulate(const EdgeView& view, double period,
                            std::size_t bin_count, std::int64_t rising,
                            const ParallelFor& parallel_for) {
  const double span = static_cast<double>((view.to() - view.from()).count());
  // The last edge belongs to the last bin.
  const Demodulation d{
      period, view.from(),
      static_cast<double>(bin_count) / (span * (1.0 + 1e-12)), bin_count,
      rising <= static_cast<std::int64_t>(kMostPerBin * bin_count)};
  const std::size_t blocks = view.block_count();
  std::vector<BinSums> parts(blocks);
  const auto first_bin = [&](std::size_t b) {
    return d.bin(std::max(view.from(), view.block_first(b)));
  };
  parallel_for(blocks, [&](std::size_t b) {
    std::optional<std::size_t> before;
    if (!d.all && b > 0) {
      before = first_bin(b);
      const bool begins_none = b + 1 < blocks && first_bin(b + 1) == *before;
      if (begins_none && first_bin(b - 1) == *before) return;
      if (first_bin(b - 1) != *before) before.reset();
    }
    parts[b] = demodulate_block(d, view, b, before);
  });
  std::vector<Bin> bins(bin_count);
  for (const BinSums& part : parts) {
    for (const auto& [bin, sum] : part) {
      bins[bin].re += sum.re;
      bins[bin].im += sum.im;
      bins[bin].count += sum.count;
    }
  }
  return bins;
}

/// Tapered bin means. Dividing by the count keeps the beat between bin length
/// and period out of the spectrum.
std::vector<Complex> tapered(const std::vector<Bin>& bins) {
  std::vector<Complex> series(bins.size());
  for (std::size_t b = 0; b < bins.size(); ++b) {
    if (bins[b].count == 0) continue;
    const double x =
        (static_cast<double>(b) + 0.5) / static_cast<double>(bins.size());
    const double hann = 0.5 - 0.5 * std::cos(2.0 * std::numbers::pi * x);
    const auto n = static_cast<double>(bins[b].count);
    series[b] = Complex(hann * bins[b].re / n, hann * bins[b].im / n);
  }
  return series;
}

/// Powers that are formed at once: each waits for its own products alone.
constexpr std::size_t kAtOnce = 4;

// Numbers side by side, as both compilers know them: at any level the same
// operations on each.
using Numbers [[gnu::vector_size(sizeof(double) * kAtOnce)]] = double;

struct Phasors {
  Numbers re{}, im{};
};

/// sum z_b turn^b. Not by the operators of std::complex, which look for
/// infinities.
CLOCKASSAY_KERNEL void turned_sums_any(const std::vector<Complex>& series,
                                       const Phasors& turn, Phasors& sums) {
  Phasors at;
  at.re += 1.0;
  Phasors sum;
  for (const Complex& z : series) {
    sum.re += z.real() * at.re - z.imag() * at.im;
    sum.im += z.real() * at.im + z.imag() * at.re;
    const Numbers re = at.re * turn.re - at.im * turn.im;
    at.im = at.re * turn.im + at.im * turn.re;
    at.re = re;
  }
  sums = sum;
}

CLOCKASSAY_AT_LEVEL(void, turned_sums,
                    (const std::vector<Complex>& series, const Phasors& turn,
                     Phasors& sums),
                    (series, turn, sums))

/// |sum z_b exp(-2 pi i j b / size)|^2 of some j.
std::array<double, kAtOnce> powers_at(const std::vector<Complex>& series,
                                      const std::array<std::size_t, kAtOnce>& j,
                                      std::size_t size) {
  Phasors turn, sums;
  for (std::size_t i = 0; i < kAtOnce; ++i) {
    const double step = -2.0 * std::numbers::pi * static_cast<double>(j[i]) /
                        static_cast<double>(size);
    turn.re[i] = std::cos(step);
    turn.im[i] = std::sin(step);
  }
  turned_sums(series, turn, sums);
  std::array<double, kAtOnce> powers;
  for (std::size_t i = 0; i < kAtOnce; ++i) {
    powers[i] = std::norm(Complex(sums.re[i], sums.im[i]));
  }
  return powers;
}

/// Those of `count` j from `first` by `step`, round the end.
void put_powers(const std::vector<Complex>& series, std::size_t first,
                std::size_t step, std::size_t count,
                std::vector<double>& power) {
  const std::size_t size = power.size();
  for (std::size_t done = 0; done < count; done += kAtOnce) {
    std::array<std::size_t, kAtOnce> j;
    for (std::size_t i = 0; i < kAtOnce; ++i) {
      j[i] = (first + (done + i) * step) % size;
    }
    const auto powers = powers_at(series, j, size);
    for (std::size_t i = 0; i < std::min(kAtOnce, count - done); ++i) {
      power[j[i]] = powers[i];
    }
  }
}

/// The same for every kCoarse-th j of a padded transform, which no peak is
/// between, and for all about the largest; 0 for the others.
std::vector<double> power_direct(const std::vector<Complex>& series,
                                 std::size_t size) {
  constexpr std::size_t kCoarse = kPadding / 2;
  std::vector<double> power(size);
  put_powers(series, 0, kCoarse, size / kCoarse, power);
  const auto top = static_cast<std::size_t>(
      std::max_element(power.begin(), power.end()) - power.begin());
  put_powers(series, top + size - kCoarse, 1, 2 * kCoarse + 1, power);
  return power;
}

std::vector<double> power_fft(const std::vector<Complex>& series,
                              std::size_t size) {
  struct Free {
    void operator()(fftw_complex* p) const { fftw_free(p); }
  };
  const std::unique_ptr<fftw_complex[], Free> data(fftw_alloc_complex(size));
  fftw_plan plan = nullptr;
  {
    const std::lock_guard lock(fft_planning());
    plan = fftw_plan_dft_1d(static_cast<int>(size), data.get(), data.get(),
                            FFTW_FORWARD, FFTW_ESTIMATE);
  }
  for (std::size_t i = 0; i < size; ++i) {
    const Complex z = i < series.size() ? series[i] : Complex();
    data[i][0] = z.real();
    data[i][1] = z.imag();
  }
  fftw_execute(plan);
  std::vector<double> power(size);
  for (std::size_t i = 0; i < size; ++i) {
    power[i] = data[i][0] * data[i][0] + data[i][1] * data[i][1];
  }
  const std::lock_guard lock(fft_planning());
  fftw_destroy_plan(plan);
  return power;
}

/// Position of the peak in units of 1/T, negative below zero frequency.
double peak_position(const std::vector<double>& power) {
  const std::size_t size = power.size();
  const auto top = static_cast<std::size_t>(
      std::max_element(power.begin(), power.end()) - power.begin());
  const double a = std::log(power[(top + size - 1) % size]);
  const double b = std::log(power[top]);
  const double c = std::log(power[(top + 1) % size]);
  const double curvature = 2.0 * b - a - c;
  const double shift = curvature > 0.0 ? 0.5 * (c - a) / curvature : 0.0;
  double index = static_cast<double>(top);
  if (top > size / 2) index -= static_cast<double>(size);
  return (index + shift) / static_cast<double>(kPadding);
}

/// How the phase of the bins goes from one to the next.
struct PhaseCourse {
  double slope = 0.0;      ///< of the least-squares line, cycles over the view
  double excursion = 0.0;  ///< of the phase about that, from least to most
};

/// Phases of the bins that have any [cycles], each the nearest to the one
/// before. Out: empty where one is too far off to say which is
std::vector<double> unwrapped(const std::vector<Bin>& bins) {
  constexpr double kNearest = 0.4;  // chosen; above a half they are another's
  std::vector<double> phase;
  for (const Bin& bin : bins) {
    if (bin.count == 0) continue;
    double turns = std::atan2(bin.im, bin.re) / (2.0 * std::numbers::pi);
    if (!phase.empty()) {
      turns += std::round(phase.back() - turns);
      if (std::abs(turns - phase.back()) > kNearest) return {};
    }
    phase.push_back(turns);
  }
  return phase;
}

PhaseCourse course_of(const std::vector<double>& phase) {
  const auto n = static_cast<double>(phase.size());
  double sum = 0.0, moment = 0.0;
  for (std::size_t i = 0; i < phase.size(); ++i) {
    sum += phase[i];
    moment += (static_cast<double>(i) - 0.5 * (n - 1.0)) * phase[i];
  }
  const double a_bin = 12.0 * moment / (n * (n * n - 1.0));
  double least = 0.0, most = 0.0;
  for (std::size_t i = 0; i < phase.size(); ++i) {
    const double line =
        sum / n + a_bin * (static_cast<double>(i) - 0.5 * (n - 1.0));
    least = std::min(least, phase[i] - line);
    most = std::max(most, phase[i] - line);
  }
  return {a_bin * n, most - least};
}

/// The strongest line of a modulated clock may be a sideband. Then the phase
/// goes up and down often, and the mean frequency is that of its line.
/// In:  offset  of the strongest line, cycles over the view
std::optional<PhaseCourse> modulated(const std::vector<Bin>& bins,
                                     double offset) {
  constexpr double kOften = 8.0;  // chosen
  if (std::abs(offset) < kOften) return std::nullopt;
  const std::vector<double> phase = unwrapped(bins);
  if (phase.size() < bins.size() / 2 || phase.size() < 3) return std::nullopt;
  const PhaseCourse course = course_of(phase);
  // A frequency that steps goes that far but once.
  if (course.excursion * kOften > std::abs(offset)) return std::nullopt;
  return course;
}

/// How far sampling moves the strongest line, in windows over the period.
/// Phases that meet the sampler everywhere move it by less than 0.8. Phases
/// that stay, or turn by two windows at most (of every cycle, or of every
/// second one, whose steps are half as high), can lie high in one half of the
/// view and low in the other: by their slope under the taper, int w |x| / int w
/// x^2 / 2.
double window_share(const SpectralInput& input, double cycles) {
  constexpr double kTurning = 0.8;
  constexpr double kStanding = 2.28;
  constexpr double kFewTurns = 2.0;
  const double ratio = input.period_ticks / input.window_ticks;
  double share = kTurning;
  for (const double every : {1.0, 2.0}) {
    const double slip = every * ratio - std::round(every * ratio);
    if (cycles * std::abs(slip) > kFewTurns) continue;
    share = std::max(share, kStanding / every);
  }
  return share;
}

void put_outcome(const SpectralInput& input, double cycles, double offset,
                 double limit, SpectralCheck& check) {
  const double f0 = 1.0 / (input.period_ticks * input.tick_s);
  check.frequency = Hertz(f0 * (1.0 + offset / cycles));
  check.difference = Ppm(offset / cycles * 1e6);
  check.limit = Ppm(limit / cycles * 1e6);
  check.outcome = std::abs(offset) <= limit ? SpectralOutcome::kAgrees
                                            : SpectralOutcome::kDisagrees;
  if (check.outcome == SpectralOutcome::kAgrees) return;
  check.reason =
      "edges may be lost or extra, or the frequency changed during the "
      "capture";
}

}  // namespace

SpectralCheck check_spectrum(const EdgeView& view, const SpectralInput& input,
                             const ParallelFor& parallel_for) {
  SpectralCheck check;
  const std::int64_t edges = input.rising;
  if (edges < kFewestEdges) {
    check.reason = "fewer than 16 rising edges";
    return check;
  }
  const auto bin_count = static_cast<std::size_t>(std::min<std::int64_t>(
      static_cast<std::int64_t>(kMostBins), edges / kEdgesPerBin));
  const std::vector<Bin> bins =
      demodulate(view, input.period_ticks, bin_count, edges, parallel_for);
  const std::vector<Complex> series = tapered(bins);
  const std::size_t size = kPadding * bin_count;
  double offset =
      peak_position(bin_count <= kDirectBins ? power_direct(series, size)
                                             : power_fft(series, size));
  // In cycles over T; relative to the frequency after dividing by T/P.
  const double span = static_cast<double>((view.to() - view.from()).count());
  const double cycles = span / input.period_ticks;
  if (!std::isfinite(offset)) {
    check.reason = "the edges have no spectral line";
    return check;
  }
  double limit =
      0.02 +
      window_share(input, cycles) * input.window_ticks / input.period_ticks +
      5.0 * input.standard_uncertainty_ticks / input.period_ticks * cycles;
  if (std::abs(offset) > limit) {
    if (const auto course = modulated(bins, offset)) {
      // What is left of the last turns moves the line by so much at most.
      limit += 4.0 * course->excursion / std::abs(offset);
      offset = course->slope;
    }
  }
  put_outcome(input, cycles, offset, limit, check);
  return check;
}

}  // namespace clockassay
