// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/phase_terms.h"

#include <algorithm>
#include <array>
#include <cassert>
#include <cmath>
#include <cstring>
#include <limits>

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

// Numbers side by side, as both compilers know them: at any level the same
// operations on each, in registers as wide as there are.
using Numbers [[gnu::vector_size(sizeof(double) * kLanes / 2)]] = double;
template <std::size_t kOrder>
CLOCKASSAY_KERNEL double difference(const double* x, std::size_t k) {
  if constexpr (kOrder == 1) return x[k] - x[0];
  if constexpr (kOrder == 2) return (x[2 * k] - x[k]) - (x[k] - x[0]);
  return (x[3 * k] - x[0]) - 3.0 * (x[2 * k] - x[k]);
}

CLOCKASSAY_KERNEL void load(const double* x, Numbers& out) {
  std::memcpy(&out, x, sizeof(out));
}

/// The differences of half of kLanes terms side by side.
template <std::size_t kOrder>
CLOCKASSAY_KERNEL void differences(const double* x, std::size_t k,
                                   Numbers& out) {
  Numbers a, b;
  load(x, a);
  load(x + k, b);
  if constexpr (kOrder == 1) {
    out = b - a;
    return;
  }
  Numbers c;
  load(x + (kOrder > 1 ? 2 : 1) * k, c);
  if constexpr (kOrder == 2) {
    out = (c - b) - (b - a);
  } else if constexpr (kOrder == 3) {
    Numbers d;
    load(x + 3 * k, d);
    out = (d - a) - 3.0 * (c - b);
  }
}

/// NaN if any term is.
template <std::size_t kOrder>
CLOCKASSAY_KERNEL double squares_of(const double* x, std::size_t k,
                                    std::size_t count) {
  constexpr std::size_t kHalf = kLanes / 2;
  Numbers low{}, high{};
  std::size_t i = 0;
  for (; i + kLanes <= count; i += kLanes) {
    Numbers a, b;
    differences<kOrder>(x + i, k, a);
    differences<kOrder>(x + i + kHalf, k, b);
    low += a * a;
    high += b * b;
  }
  double sum = 0.0;
  for (std::size_t lane = 0; lane < kHalf; ++lane) sum += low[lane];
  for (std::size_t lane = 0; lane < kHalf; ++lane) sum += high[lane];
  for (; i < count; ++i) {
    const double d = difference<kOrder>(x + i, k);
    sum += d * d;
  }
  return sum;
}

CLOCKASSAY_KERNEL double squares_any(std::size_t order, const double* x,
                                     std::size_t k, std::size_t count) {
  if (order == 1) return squares_of<1>(x, k, count);
  return order == 2 ? squares_of<2>(x, k, count) : squares_of<3>(x, k, count);
}

CLOCKASSAY_AT_LEVEL(double, squares,
                    (std::size_t order, const double* x, std::size_t k,
                     std::size_t count),
                    (order, x, k, count))

/// Of the terms that are there.
template <std::size_t kOrder>
TermSum sum_known(const double* x, std::size_t k, std::size_t count) {
  TermSum sum;
  for (std::size_t i = 0; i < count; ++i) {
    const double d = difference<kOrder>(x + i, k);
    if (!std::isnan(d)) sum.add({d * d, 1});
  }
  return sum;
}

/// How many terms reach so far and no further than a list of that size.
std::size_t terms_of(std::size_t size, std::size_t reach, std::size_t starts) {
  return size > reach ? std::min(starts, size - reach) : 0;
}

template <std::size_t kOrder>
TermSum sum_differences(std::span<const double> x, std::size_t k,
                        std::size_t starts) {
  const std::size_t count = terms_of(x.size(), kOrder * k, starts);
  const double all = squares(kOrder, x.data(), k, count);
  if (std::isnan(all)) return sum_known<kOrder>(x.data(), k, count);
  return {all, static_cast<std::int64_t>(count)};
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

CLOCKASSAY_AT_LEVEL(void, widen,
                    (std::vector<double> & low, std::vector<double>& high,
                     std::size_t by),
                    (low, high, by))

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

CLOCKASSAY_AT_LEVEL(double, widest, (const Windows& w, std::size_t count),
                    (w, count))

}  // namespace

void DeviationTerms::add(const DeviationTerms& other) {
  interval.add(other.interval);
  allan.add(other.allan);
  modified.add(other.modified);
  hadamard.add(other.hadamard);
  if (other.range) range = std::max(range.value_or(0.0), *other.range);
}

void cells_of(std::span<const double> phases, PhaseCells& cells) {
  cells.first.assign(phases.begin(), phases.end());
  cells.mean = cells.first;
  cells.low = cells.first;
  cells.high = cells.first;
  for (std::size_t i = 0; i < phases.size(); ++i) {
    if (!std::isnan(phases[i])) continue;
    cells.low[i] = kInfinity;
    cells.high[i] = -kInfinity;
  }
}

void pair_cells(const PhaseCells& cells, PhaseCells& out) {
  const std::size_t pairs = cells.size() / 2;
  const bool odd = cells.size() % 2 != 0;
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

TermSum first_differences(std::span<const double> x, std::size_t k,
                          std::size_t starts) {
  return sum_differences<1>(x, k, starts);
}

TermSum third_differences(std::span<const double> x, std::size_t k,
                          std::size_t starts) {
  return sum_differences<3>(x, k, starts);
}

void CellTerms::look_at(PhaseCells& cells, std::size_t starts) {
  cells_ = &cells;
  window_ = 1;
  starts_ = starts;
  const std::vector<double>& means = cells.mean;
  std::size_t n = means.size();
  while (n > 0 && std::isnan(means[n - 1])) --n;
  running_.resize(n + 1);
  running_[0] = 0.0;
  bool any_missing = false;
  for (std::size_t i = 0; i < n; ++i) {
    const bool known = means[i] == means[i];
    any_missing |= !known;
    running_[i + 1] = running_[i] + (known ? means[i] : 0.0);
  }
  missing_.clear();
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
  const std::size_t count = terms_of(cells_->size(), k, starts_);
  if (count == 0) return std::nullopt;
  assert(k >= window_);
  for (; 2 * window_ <= k; window_ *= 2) {
    widen(cells_->low, cells_->high, window_);
  }
  const Windows w{cells_->low.data(), cells_->high.data(),
                  cells_->first.data() + k, k - window_};
  const double range = widest(w, count);
  if (range < 0.0) return std::nullopt;  // no window has a phase
  return range;
}

}  // namespace clockassay
