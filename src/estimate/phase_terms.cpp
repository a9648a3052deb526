// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/phase_terms.h"

#include <algorithm>
#include <array>
#include <cassert>
#include <cmath>
#include <limits>
#include <utility>

#include "base/simd_level.h"

namespace clockassay {
namespace {

constexpr double kInfinity = std::numeric_limits<double>::infinity();
constexpr double kMissing = std::numeric_limits<double>::quiet_NaN();

/// Sums are kept in so many parts, each of every so many-th term, so that they
/// are the same whatever is done at once.
constexpr std::size_t kLanes = 8;
using Lanes = std::array<double, kLanes>;

/// Cells whose windows are widened together. Chosen: they stay in L1.
constexpr std::size_t kChunk = 1024;

template <std::size_t kOrder>
CLOCKASSAY_KERNEL double difference(const double* x, std::size_t k) {
  if constexpr (kOrder == 2) return (x[2 * k] - x[k]) - (x[k] - x[0]);
  return (x[3 * k] - x[0]) - 3.0 * (x[2 * k] - x[k]);
}

CLOCKASSAY_KERNEL void add_square(double d, double& squares, double& n) {
  const bool known = d == d;
  squares += known ? d * d : 0.0;
  n += known ? 1.0 : 0.0;
}

template <std::size_t kOrder>
CLOCKASSAY_KERNEL TermSum sum_any(const double* x, std::size_t k,
                                  std::size_t count) {
  Lanes squares{}, n{};
  std::size_t i = 0;
  for (; i + kLanes <= count; i += kLanes) {
    for (std::size_t lane = 0; lane < kLanes; ++lane) {
      add_square(difference<kOrder>(x + i + lane, k), squares[lane], n[lane]);
    }
  }
  for (; i < count; ++i) {
    add_square(difference<kOrder>(x + i, k), squares[0], n[0]);
  }
  TermSum sum;
  for (std::size_t lane = 0; lane < kLanes; ++lane) {
    sum.add({squares[lane], static_cast<std::int64_t>(n[lane])});
  }
  return sum;
}

template <std::size_t kOrder>
TermSum sum_plain(const double* x, std::size_t k, std::size_t count) {
  return sum_any<kOrder>(x, k, count);
}

template <std::size_t kOrder>
CLOCKASSAY_AVX2 TermSum sum_avx2(const double* x, std::size_t k,
                                 std::size_t count) {
  return sum_any<kOrder>(x, k, count);
}

bool has_avx2() {
  return simd_level() >= SimdLevel::kAvx2;
}

/// How many terms reach so far and no further than a list of that size.
std::size_t terms_of(std::size_t size, std::size_t reach, std::size_t starts) {
  return size > reach ? std::min(starts, size - reach) : 0;
}

template <std::size_t kOrder>
TermSum sum_differences(std::span<const double> x, std::size_t k,
                        std::size_t starts) {
  const std::size_t count = terms_of(x.size(), kOrder * k, starts);
  return has_avx2() ? sum_avx2<kOrder>(x.data(), k, count)
                    : sum_plain<kOrder>(x.data(), k, count);
}

/// Each cell's window takes in the one that begins `by` cells later.
CLOCKASSAY_KERNEL void widen_any(std::vector<double>& low,
                                 std::vector<double>& high, std::size_t by) {
  const std::size_t end = low.size() - by;
  double* const lows = low.data();
  double* const highs = high.data();
  std::array<double, kChunk> later_low, later_high;
  for (std::size_t at = 0; at < end; at += kChunk) {
    const std::size_t count = std::min(kChunk, end - at);
    std::copy_n(lows + at + by, count, later_low.begin());
    std::copy_n(highs + at + by, count, later_high.begin());
    for (std::size_t i = 0; i < count; ++i) {
      const double l = lows[at + i], h = highs[at + i];
      lows[at + i] = later_low[i] < l ? later_low[i] : l;
      highs[at + i] = later_high[i] > h ? later_high[i] : h;
    }
  }
}

void widen_plain(std::vector<double>& low, std::vector<double>& high,
                 std::size_t by) {
  widen_any(low, high, by);
}

CLOCKASSAY_AVX2 void widen_avx2(std::vector<double>& low,
                                std::vector<double>& high, std::size_t by) {
  widen_any(low, high, by);
}

/// Windows of k cells, as two of fewer: from a cell on and from `second` on,
/// and the phase after them.
struct Windows {
  const double* low;
  const double* high;
  const double* after;
  std::size_t second;
};

CLOCKASSAY_KERNEL double range_at(const Windows& w, std::size_t i) {
  const double x = w.after[i];
  double h =
      w.high[i + w.second] > w.high[i] ? w.high[i + w.second] : w.high[i];
  double l = w.low[i + w.second] < w.low[i] ? w.low[i + w.second] : w.low[i];
  h = x > h ? x : h;  // a missing one is not
  l = x < l ? x : l;
  return h - l;
}

CLOCKASSAY_KERNEL double widest_any(const Windows& w, std::size_t count) {
  Lanes widest;
  widest.fill(-kInfinity);
  std::size_t i = 0;
  for (; i + kLanes <= count; i += kLanes) {
    for (std::size_t lane = 0; lane < kLanes; ++lane) {
      const double range = range_at(w, i + lane);
      widest[lane] = range > widest[lane] ? range : widest[lane];
    }
  }
  double all = -kInfinity;
  for (; i < count; ++i) all = std::max(all, range_at(w, i));
  for (const double lane : widest) all = std::max(all, lane);
  return all;
}

double widest_plain(const Windows& w, std::size_t count) {
  return widest_any(w, count);
}

CLOCKASSAY_AVX2 double widest_avx2(const Windows& w, std::size_t count) {
  return widest_any(w, count);
}

}  // namespace

void DeviationTerms::add(const DeviationTerms& other) {
  allan.add(other.allan);
  modified.add(other.modified);
  hadamard.add(other.hadamard);
  if (other.range) range = std::max(range.value_or(0.0), *other.range);
}

PhaseCells cells_of(std::span<const double> phases) {
  PhaseCells cells;
  cells.first.assign(phases.begin(), phases.end());
  cells.mean = cells.low = cells.high = cells.first;
  for (std::size_t i = 0; i < phases.size(); ++i) {
    if (!std::isnan(phases[i])) continue;
    cells.low[i] = kInfinity;
    cells.high[i] = -kInfinity;
  }
  return cells;
}

PhaseCells paired(const PhaseCells& cells) {
  const std::size_t pairs = cells.size() / 2;
  const bool odd = cells.size() % 2 != 0;
  PhaseCells out;
  for (auto* list : {&out.first, &out.mean, &out.low, &out.high}) {
    list->resize(pairs + (odd ? 1 : 0));
  }
  for (std::size_t i = 0; i < pairs; ++i) {
    const std::size_t a = 2 * i, b = a + 1;
    out.first[i] = cells.first[a];
    out.mean[i] = 0.5 * (cells.mean[a] + cells.mean[b]);
    out.low[i] = std::min(cells.low[a], cells.low[b]);
    out.high[i] = std::max(cells.high[a], cells.high[b]);
  }
  if (odd) {
    out.first.back() = cells.first.back();
    out.mean.back() = kMissing;
    out.low.back() = cells.low.back();
    out.high.back() = cells.high.back();
  }
  return out;
}

PhaseCells missing_cells(std::size_t count) {
  PhaseCells cells;
  cells.first.assign(count, kMissing);
  cells.mean.assign(count, kMissing);
  cells.low.assign(count, kInfinity);
  cells.high.assign(count, -kInfinity);
  return cells;
}

void put_cells(const PhaseCells& part, std::size_t count, std::size_t at,
               PhaseCells& all) {
  const auto put = [=](const std::vector<double>& from,
                       std::vector<double>& to) {
    std::copy_n(from.begin(), count,
                to.begin() + static_cast<std::ptrdiff_t>(at));
  };
  put(part.first, all.first);
  put(part.mean, all.mean);
  put(part.low, all.low);
  put(part.high, all.high);
}

TermSum second_differences(std::span<const double> x, std::size_t k,
                           std::size_t starts) {
  return sum_differences<2>(x, k, starts);
}

TermSum third_differences(std::span<const double> x, std::size_t k,
                          std::size_t starts) {
  return sum_differences<3>(x, k, starts);
}

CellTerms::CellTerms(PhaseCells cells, std::size_t starts)
    : cells_(std::move(cells)), starts_(starts) {
  const std::vector<double> means = std::exchange(cells_.mean, {});
  std::size_t n = means.size();
  while (n > 0 && std::isnan(means[n - 1])) --n;
  running_.resize(n + 1);
  bool any_missing = false;
  for (std::size_t i = 0; i < n; ++i) {
    const bool known = means[i] == means[i];
    any_missing |= !known;
    running_[i + 1] = running_[i] + (known ? means[i] : 0.0);
  }
  if (!any_missing) return;
  missing_.resize(n + 1);
  for (std::size_t i = 0; i < n; ++i) {
    missing_[i + 1] = missing_[i] + (std::isnan(means[i]) ? 1 : 0);
  }
}

TermSum CellTerms::modified(std::size_t k) const {
  if (missing_.empty()) return third_differences(running_, k, starts_);
  TermSum sum;
  const std::size_t count = terms_of(running_.size(), 3 * k, starts_);
  for (std::size_t i = 0; i < count; ++i) {
    if (missing_[i + 3 * k] != missing_[i]) continue;
    const double d = difference<3>(running_.data() + i, k);
    sum.add({d * d, 1});
  }
  return sum;
}

std::optional<double> CellTerms::widest_range(std::size_t k) {
  const std::size_t count = terms_of(cells_.size(), k, starts_);
  if (count == 0) return std::nullopt;
  assert(k >= window_);
  for (; 2 * window_ <= k; window_ *= 2) {
    has_avx2() ? widen_avx2(cells_.low, cells_.high, window_)
               : widen_plain(cells_.low, cells_.high, window_);
  }
  const Windows w{cells_.low.data(), cells_.high.data(),
                  cells_.first.data() + k, k - window_};
  const double widest =
      has_avx2() ? widest_avx2(w, count) : widest_plain(w, count);
  if (widest < 0.0) return std::nullopt;  // no window has a phase
  return widest;
}

}  // namespace clockassay
