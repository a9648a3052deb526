// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <span>

#include "estimate/frame_block.h"

namespace clockassay {

/// The line from which edges of one polarity are seen, as points of a frame.
struct PlaceLine {
  double slope = 0.0;
  double start = 0.0;     ///< y at k = 0 [ticks]
  double per_tick = 0.0;  ///< windows
  /// Upper end of the window of an edge, from the line [windows].
  double at(std::int64_t k, std::int64_t y) const {
    return (static_cast<double>(y) - start - slope * static_cast<double>(k)) *
           per_tick;
  }
};

/// What a place in its window becomes a code by.
struct PlaceScale {
  double lowest = 0.0;  ///< below it, and from `end` on, an edge is beyond
  double end = 0.0;
  double silent_from = 0.0;  ///< above it, and below the next, it says nothing
  double silent_to = 0.0;
  double gap = 0.0;         ///< left out between these
  double per_window = 0.0;  ///< codes
  double last = 0.0;        ///< code of a column
  double silent = 0.0;      ///< codes of what is in no column
  double outside = 0.0;
};

/// Columns of a table by where edges lie in their windows: an eighth of sigma
/// wide about the ends of the window, edges between or beyond in none of them.
class WindowColumns {
 public:
  /// Parts of a column that places in it are counted in: whole numbers, so that
  /// the order of summing does not matter.
  static constexpr std::int32_t kPlaces = 1 << 18;
  /// Most columns, with the two for edges between and beyond.
  static constexpr std::size_t kMostColumns = 260;

  /// In: sigma > 0 [windows]
  explicit WindowColumns(double sigma);

  std::size_t count() const { return count_; }
  /// Column times kPlaces and place in it. Column count() is for edges between
  /// the ends, which say nothing, count() + 1 for those beyond.
  std::int32_t code(double y) const;
  /// Between the ends, where an edge says nothing.
  bool is_silent(double y) const {
    return y > scale_.silent_from && y < scale_.silent_to;
  }
  bool is_beyond(double y) const {
    return y < scale_.lowest || y >= scale_.end;
  }
  /// out[i] = code(line.at(edges.k(i), edges.y(i))), at every level.
  /// In: as many out as edges
  void codes(const SteadyEdges& edges, const PlaceLine& line,
             std::span<std::int32_t> out) const;

  /// Place 0 of a column, and the unit of places in it [windows].
  double origin(std::size_t column) const;
  double unit() const { return width_ / kPlaces; }

 private:
  double width_;
  std::size_t count_ = 0;
  PlaceScale scale_;
};

/// Edges of one column: how many, the sum of their numbers among the codes, and
/// of their places.
struct ColumnSums {
  std::int64_t n = 0;
  std::int64_t number = 0;
  std::int64_t place = 0;
};

/// Adds codes to the sums of their columns; of many that say nothing at once
/// not all are counted.
/// In: at most kMaxBlockCycles codes; sums of count() + 2 columns
void add_codes(std::span<const std::int32_t> codes, std::span<ColumnSums> sums);

}  // namespace clockassay
