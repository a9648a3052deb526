// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/window_places.h"

#include <algorithm>
#include <bit>
#include <cassert>
#include <cmath>

#include "base/simd_level.h"

namespace clockassay {
namespace {

constexpr double kCellsPerSigma = 8.0;  ///< 0.001 standard deviations off
constexpr double kReach = 8.0;          ///< sigma, beyond the windows' ends

// All in doubles, one choice after the other, so that it becomes vectors.
CLOCKASSAY_KERNEL std::int32_t code_of(const PlaceScale& s, double y) {
  const double from_upper = y - s.lowest - s.gap;
  const double from_lower = y - s.lowest;
  const double from = y > s.silent_from ? from_upper : from_lower;
  double code = from * s.per_window + 0.5;
  code = code > 0.0 ? code : 0.0;
  code = code < s.last ? code : s.last;
  const double below_upper = y < s.silent_to ? s.silent : code;
  code = y > s.silent_from ? below_upper : code;
  code = y < s.lowest ? s.outside : code;
  code = y < s.end ? code : s.outside;
  return static_cast<std::int32_t>(code);
}

CLOCKASSAY_KERNEL void codes_of_any(const SteadyEdges& edges,
                                    const PlaceLine& line,
                                    const PlaceScale& scale,
                                    std::int32_t* out) {
  // Whole numbers that a double holds, and sums of them: as line.at() has it.
  const auto y0 = static_cast<double>(edges.y0);
  const auto k0 = static_cast<double>(edges.k0);
  // Copies, which nothing that is written can change.
  const PlaceLine own = line;
  const PlaceScale s = scale;
  const std::int32_t* offset = edges.offset.data();
  const auto n = static_cast<std::int32_t>(edges.count());
  for (std::int32_t i = 0; i < n; ++i) {
    const double y = y0 + static_cast<double>(offset[i]);
    const double k = k0 + static_cast<double>(i);
    out[i] = code_of(s, (y - own.start - own.slope * k) * own.per_tick);
  }
}

CLOCKASSAY_AT_LEVEL(void, codes_of,
                    (const SteadyEdges& edges, const PlaceLine& line,
                     const PlaceScale& scale, std::int32_t* out),
                    (edges, line, scale, out))

// Of a column's edges the count, the sum of numbers and of places in one word:
// 12, 22 and 30 bits are enough for a block.
constexpr int kNumberShift = 30;
constexpr int kCountShift = 52;
static_assert(kMaxBlockCycles < (1u << (64 - kCountShift)));
static_assert(kMaxBlockCycles * kMaxBlockCycles / 2 <=
              (1u << (kCountShift - kNumberShift)));
static_assert(kMaxBlockCycles * WindowColumns::kPlaces <=
              (std::size_t{1} << kNumberShift));

}  // namespace

WindowColumns::WindowColumns(double sigma) : width_(sigma / kCellsPerSigma) {
  const double margin = kReach * sigma;
  scale_.gap = std::max(0.0, 1.0 - 2.0 * margin);
  count_ = static_cast<std::size_t>(
      std::ceil((1.0 + 2.0 * margin - scale_.gap) / width_));
  assert(count_ + 2 <= kMostColumns);
  scale_.lowest = -margin;
  scale_.end = 1.0 + margin;
  // Without a gap no edge is above it.
  scale_.silent_from = scale_.gap > 0.0 ? margin : scale_.end;
  scale_.silent_to = 1.0 - margin;
  scale_.per_window = static_cast<double>(kPlaces) / width_;
  scale_.silent = static_cast<double>(count_) * kPlaces;
  scale_.last = scale_.silent - 1.0;
  scale_.outside = scale_.silent + kPlaces;
}

std::int32_t WindowColumns::code(double y) const {
  return code_of(scale_, y);
}

void WindowColumns::codes(const SteadyEdges& edges, const PlaceLine& line,
                          std::span<std::int32_t> out) const {
  assert(out.size() == edges.count());
  codes_of(edges, line, scale_, out.data());
}

double WindowColumns::origin(std::size_t column) const {
  const double y = static_cast<double>(column) * width_ + scale_.lowest;
  // The columns of either end are a whole number of them.
  const bool upper = scale_.gap > 0.0 && y > -scale_.lowest - 0.5 * width_;
  return upper ? y + scale_.gap : y;
}

void add_codes(std::span<const std::int32_t> codes,
               std::span<ColumnSums> sums) {
  // Some words each, in turn: an edge need not wait for the one before it.
  constexpr std::size_t kTurns = 4;
  constexpr std::size_t kChunk = 32;  // chosen: a few vectors
  constexpr std::uint32_t kPlaceMask = WindowColumns::kPlaces - 1;
  constexpr auto kPlaceBits = static_cast<int>(std::bit_width(kPlaceMask));
  assert(codes.size() <= kMaxBlockCycles);
  assert(sums.size() <= WindowColumns::kMostColumns);
  std::uint64_t words[WindowColumns::kMostColumns][kTurns] = {};
  const auto silent = static_cast<std::int32_t>(
      (sums.size() - 2) * static_cast<std::size_t>(WindowColumns::kPlaces));
  for (std::size_t at = 0; at < codes.size(); at += kChunk) {
    const std::size_t end = std::min(at + kChunk, codes.size());
    // Where jitter is small most edges say nothing.
    std::int32_t different = 0;
    for (std::size_t i = at; i < end; ++i) different |= codes[i] ^ silent;
    if (different == 0) continue;
    for (std::size_t i = at; i < end; ++i) {
      const auto code = static_cast<std::uint32_t>(codes[i]);
      words[code >> kPlaceBits][i % kTurns] +=
          (std::uint64_t{1} << kCountShift) +
          (static_cast<std::uint64_t>(i) << kNumberShift) + (code & kPlaceMask);
    }
  }
  constexpr std::uint64_t kNumberMask =
      (std::uint64_t{1} << (kCountShift - kNumberShift)) - 1;
  constexpr std::uint64_t kPlaceSumMask =
      (std::uint64_t{1} << kNumberShift) - 1;
  for (std::size_t c = 0; c < sums.size(); ++c) {
    const std::uint64_t word =
        words[c][0] + words[c][1] + words[c][2] + words[c][3];
    if (word == 0) continue;
    sums[c].n += static_cast<std::int64_t>(word >> kCountShift);
    sums[c].number +=
        static_cast<std::int64_t>(word >> kNumberShift & kNumberMask);
    sums[c].place += static_cast<std::int64_t>(word & kPlaceSumMask);
  }
}

}  // namespace clockassay
