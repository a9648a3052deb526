// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/likelihood_table.h"

#include <algorithm>
#include <cmath>

namespace clockassay {
namespace {

constexpr std::size_t kGroups = kCycleGroups;
constexpr double kCellsPerSigma = 8.0;  ///< 0.001 standard deviations off
constexpr double kReach = 8.0;          ///< sigma, beyond the windows' ends
/// Parts of a cell's width that places in it are summed in: whole numbers, so
/// that the order of summing does not matter.
constexpr double kPlaceUnits = 1 << 20;
/// Blocks are dealt to so many tables. Chosen: enough for many cores.
constexpr std::size_t kTables = 16;

/// Calls visit(k, y, fall) for all edges of a block: cycle from the middle, and
/// the window's upper end from the line [windows].
template <class Visit>
void visit_block(const EdgeView& view, std::size_t index,
                 const EdgeFrame& frame, const LikelihoodReference& about,
                 BlockEdges& edges, const Visit& visit) {
  view.read_block(index, edges);
  const auto visit_all = [&](const EdgeArray& array, double start, bool fall) {
    for (std::size_t i = 0; i < array.count; ++i) {
      const std::int64_t k = frame.k(edges.first_cycle, array.cycle[i]);
      const std::int64_t y = frame.y(edges.first_cycle, edges.first_tick,
                                     array.cycle[i], array.tick[i]);
      const double at =
          static_cast<double>(y) - start - about.slope * static_cast<double>(k);
      visit(k, at / about.window, fall);
    }
  };
  visit_all(edges.rise, about.rise, false);
  visit_all(edges.fall, about.fall, true);
}

std::vector<LikelihoodCell> single_cells(const EdgeView& view,
                                         const EdgeFrame& frame,
                                         const LikelihoodReference& about) {
  // Rising edges first, whatever the blocks: sums are then the same.
  std::vector<LikelihoodCell> cells, falls;
  BlockEdges edges;
  for (std::size_t b = 0; b < view.block_count(); ++b) {
    visit_block(
        view, b, frame, about, edges, [&](std::int64_t k, double y, bool fall) {
          (fall ? falls : cells)
              .push_back({static_cast<double>(k) / about.reach, y, 1.0, fall});
        });
  }
  cells.insert(cells.end(), falls.begin(), falls.end());
  return cells;
}

/// The cells of a group: an eighth of sigma wide about the ends of the window,
/// one beyond either end, and one for edges that say nothing.
class Columns {
 public:
  explicit Columns(double sigma)
      : width_(sigma / kCellsPerSigma), margin_(kReach * sigma) {
    gap_ = std::max(0.0, 1.0 - 2.0 * margin_);
    inner_ = static_cast<std::size_t>(
        std::ceil((1.0 + 2.0 * margin_ - gap_) / width_));
  }
  std::size_t count() const { return inner_ + 3; }
  std::size_t silent() const { return inner_ + 2; }
  std::size_t of(double y) const {
    if (y < -margin_) return inner_;
    if (y >= 1.0 + margin_) return inner_ + 1;
    if (gap_ > 0.0 && y > margin_) {
      if (y < 1.0 - margin_) return silent();
      y -= gap_;
    }
    return std::min(static_cast<std::size_t>((y + margin_) / width_),
                    inner_ - 1);
  }
  /// Place 0 of a cell, and the unit of places in it [windows].
  double origin(std::size_t column) const {
    if (column >= inner_) return 0.0;
    const double y = static_cast<double>(column) * width_ - margin_;
    return y > margin_ ? y + gap_ : y;
  }
  double unit(std::size_t column) const {
    return (column < inner_ ? width_ : 1.0) / kPlaceUnits;
  }

 private:
  double width_, margin_;
  double gap_ = 0.0;  ///< between the two ends' neighbourhoods
  std::size_t inner_ = 0;
};

struct CellSums {
  std::int64_t n = 0;
  std::int64_t k = 0;
  std::int64_t place = 0;  ///< in the cell's unit, from its origin
};
using Table = std::vector<CellSums>;  // [polarity][group][column]

std::size_t group_of(std::int64_t k, double reach) {
  const double at = 0.5 * (static_cast<double>(k) / reach + 1.0) * kGroups;
  return static_cast<std::size_t>(std::clamp(at, 0.0, kGroups - 1.0));
}

std::vector<LikelihoodCell> cells_of(const Table& table, const Columns& columns,
                                     double reach) {
  std::vector<LikelihoodCell> cells;
  for (std::size_t i = 0; i < table.size(); ++i) {
    const CellSums& c = table[i];
    const std::size_t column = i % columns.count();
    if (c.n == 0 || column == columns.silent()) continue;
    const auto n = static_cast<double>(c.n);
    const double place = static_cast<double>(c.place) / n;
    cells.push_back({static_cast<double>(c.k) / n / reach,
                     columns.origin(column) + place * columns.unit(column), n,
                     i >= table.size() / 2});
  }
  return cells;
}

}  // namespace

std::vector<LikelihoodCell> tabulate_edges(const EdgeView& view,
                                           const EdgeSums& sums,
                                           const LikelihoodReference& about,
                                           const ParallelFor& parallel_for) {
  if (sums.rise.n + sums.fall.n <= about.most_single) {
    return single_cells(view, sums.frame, about);
  }
  const Columns columns(about.sigma);
  const std::size_t size = 2 * kGroups * columns.count();
  std::vector<Table> tables(std::min(kTables, view.block_count()));
  parallel_for(tables.size(), [&](std::size_t t) {
    tables[t].resize(size);
    BlockEdges edges;
    const std::size_t begin = t * view.block_count() / tables.size();
    const std::size_t end = (t + 1) * view.block_count() / tables.size();
    for (std::size_t b = begin; b < end; ++b) {
      visit_block(view, b, sums.frame, about, edges,
                  [&](std::int64_t k, double y, bool fall) {
                    const std::size_t row =
                        group_of(k, about.reach) + (fall ? kGroups : 0);
                    const std::size_t column = columns.of(y);
                    CellSums& c = tables[t][row * columns.count() + column];
                    ++c.n;
                    c.k += k;
                    c.place += std::llround((y - columns.origin(column)) /
                                            columns.unit(column));
                  });
    }
  });
  for (std::size_t t = 1; t < tables.size(); ++t) {
    for (std::size_t i = 0; i < size; ++i) {
      tables[0][i].n += tables[t][i].n;
      tables[0][i].k += tables[t][i].k;
      tables[0][i].place += tables[t][i].place;
    }
  }
  return cells_of(tables[0], columns, about.reach);
}

}  // namespace clockassay
