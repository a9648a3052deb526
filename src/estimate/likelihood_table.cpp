// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/likelihood_table.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>
#include <span>

#include "estimate/frame_block.h"
#include "estimate/window_places.h"

namespace clockassay {
namespace {

constexpr std::size_t kGroups = kCycleGroups;
/// Blocks are dealt to so many tables. Chosen: enough for many cores.
constexpr std::size_t kTables = 16;
/// Parts of a window in which edges beyond its ends are placed.
constexpr double kBeyondPlaces = 1 << 20;

PlaceLine place_line(const LikelihoodReference& about, bool fall) {
  return {about.slope, fall ? about.fall : about.rise, 1.0 / about.window};
}

std::vector<LikelihoodCell> single_cells(const EdgeView& view,
                                         const EdgeSums& sums,
                                         const LikelihoodReference& about) {
  std::vector<LikelihoodCell> cells;
  cells.reserve(static_cast<std::size_t>(sums.rise.n + sums.fall.n));
  const WindowColumns columns(about.sigma);
  FrameBlock block;
  const auto append = [&](const auto& edges, bool fall) {
    const PlaceLine line = place_line(about, fall);
    for (std::size_t i = 0; i < edges.count(); ++i) {
      const double y = line.at(edges.k(i), edges.y(i));
      if (!about.with_silent && columns.is_silent(y)) continue;
      cells.push_back(
          {static_cast<double>(edges.k(i)) / about.reach, y, 1.0, fall});
    }
  };
  // Rising edges first, whatever the blocks: sums are then the same.
  for (const bool falls : {false, true}) {
    for (std::size_t b = 0; b < view.block_count(); ++b) {
      block.read(view, b, sums.frame);
      block.visit([&](const auto& rise, const auto& fall) {
        falls ? append(fall, true) : append(rise, false);
      });
    }
  }
  return cells;
}

struct CellSums {
  std::int64_t n = 0;
  std::int64_t k = 0;
  std::int64_t place = 0;  ///< in the cell's unit, from its origin
};

/// Cells by polarity, group of cycles and column; two columns more than the
/// windows' are for edges beyond their ends.
class EdgeTable {
 public:
  EdgeTable(const WindowColumns& columns, const LikelihoodReference& about)
      : columns_(&columns), about_(&about), rows_(2 * kGroups) {}

  template <class Edges>
  void add(const Edges& edges, bool fall) {
    const PlaceLine line = place_line(*about_, fall);
    for_each_part(
        edges, [this](std::int64_t k) { return group_of(k); },
        [&](std::size_t group, const Edges& part) {
          add_part(part, line, row((fall ? kGroups : 0) + group));
        });
  }
  void add(const EdgeTable& other) {
    for (std::size_t r = 0; r < rows_.size(); ++r) {
      if (other.rows_[r].empty()) continue;
      const Row& own = row(r);
      for (std::size_t c = 0; c < own.size(); ++c) {
        rows_[r][c].n += other.rows_[r][c].n;
        rows_[r][c].k += other.rows_[r][c].k;
        rows_[r][c].place += other.rows_[r][c].place;
      }
    }
  }

  std::vector<LikelihoodCell> cells() const {
    std::vector<LikelihoodCell> cells;
    for (std::size_t r = 0; r < rows_.size(); ++r) {
      for (std::size_t c = 0; c < rows_[r].size(); ++c) {
        if (rows_[r][c].n == 0) continue;
        cells.push_back(cell(rows_[r][c], c, r >= kGroups));
      }
    }
    return cells;
  }

 private:
  using Row = std::vector<CellSums>;

  /// Memory is for the rows that have edges.
  Row& row(std::size_t number) {
    Row& r = rows_[number];
    if (r.empty()) r.resize(columns_->count() + 2);
    return r;
  }
  std::size_t group_of(std::int64_t k) const {
    const double at =
        0.5 * (static_cast<double>(k) / about_->reach + 1.0) * kGroups;
    return static_cast<std::size_t>(std::clamp(at, 0.0, kGroups - 1.0));
  }
  LikelihoodCell cell(const CellSums& c, std::size_t column, bool fall) const {
    const bool beyond = column >= columns_->count();
    const double origin = beyond ? 0.0 : columns_->origin(column);
    const double unit = beyond ? 1.0 / kBeyondPlaces : columns_->unit();
    const auto n = static_cast<double>(c.n);
    return {static_cast<double>(c.k) / n / about_->reach,
            origin + static_cast<double>(c.place) / n * unit, n, fall};
  }

  void add_part(const SteadyEdges& edges, const PlaceLine& line, Row& row) {
    std::array<std::int32_t, kMaxBlockCycles> codes;
    const std::span<std::int32_t> used(codes.data(), edges.count());
    columns_->codes(edges, line, used);
    std::array<ColumnSums, WindowColumns::kMostColumns> sums{};
    add_codes(used, std::span(sums).first(columns_->count() + 2));
    for (std::size_t c = 0; c < columns_->count(); ++c) {
      row[c].n += sums[c].n;
      row[c].k += sums[c].n * edges.k0 + sums[c].number;
      row[c].place += sums[c].place;
    }
    if (sums[columns_->count() + 1].n > 0) add_beyond(edges, line, row);
  }
  void add_part(const AnyEdges& edges, const PlaceLine& line, Row& row) {
    for (std::size_t i = 0; i < edges.count(); ++i) {
      const std::int32_t code = columns_->code(line.at(edges.k(i), edges.y(i)));
      const auto column =
          static_cast<std::size_t>(code / WindowColumns::kPlaces);
      if (column >= columns_->count()) continue;
      ++row[column].n;
      row[column].k += edges.k(i);
      row[column].place += code % WindowColumns::kPlaces;
    }
    add_beyond(edges, line, row);
  }
  /// Edges beyond the ends of their windows.
  template <class Edges>
  void add_beyond(const Edges& edges, const PlaceLine& line, Row& row) {
    for (std::size_t i = 0; i < edges.count(); ++i) {
      const double y = line.at(edges.k(i), edges.y(i));
      if (!columns_->is_beyond(y)) continue;
      CellSums& c = row[columns_->count() + (y < 0.0 ? 0 : 1)];
      ++c.n;
      c.k += edges.k(i);
      c.place += std::llround(y * kBeyondPlaces);
    }
  }

  const WindowColumns* columns_;
  const LikelihoodReference* about_;
  std::vector<Row> rows_;
};

/// Whether edges between such extremes about the slope `near` all lie where
/// they say nothing. About another slope they are off by what lies between.
bool are_silent(const LineExtremes& e, double near, double rounding,
                const PlaceLine& line, const WindowColumns& columns) {
  if (!e.any) return true;
  const double turned = near - line.slope;
  const double shift = turned * e.middle - line.start;
  // As much again for the rounding of places themselves and of these.
  const double slack = std::abs(turned) * e.reach + 2.0 * rounding;
  return columns.is_silent((e.bottom + shift - slack) * line.per_tick) &&
         columns.is_silent((e.top + shift + slack) * line.per_tick);
}

bool is_silent(const ViewExtremes& extremes, std::size_t block,
               const LikelihoodReference& about, const WindowColumns& columns) {
  const BlockExtremes& e = extremes.blocks[block];
  return are_silent(e.rise, extremes.slope, extremes.rounding,
                    place_line(about, false), columns) &&
         are_silent(e.fall, extremes.slope, extremes.rounding,
                    place_line(about, true), columns);
}

/// The edges of a block that belong to the sample.
void add_block(const FrameBlock& block, const CycleSample& sample,
               EdgeTable& table) {
  const auto add = [&](const auto& edges, bool fall) {
    if (sample.has_all()) return table.add(edges, fall);
    for_each_part(
        edges, [&](std::int64_t k) { return sample.run_of(k); },
        [&](std::size_t run, const auto& part) {
          if (sample.takes(run)) table.add(part, fall);
        });
  };
  block.visit([&](const auto& rise, const auto& fall) {
    add(rise, false);
    add(fall, true);
  });
}

}  // namespace

std::vector<LikelihoodCell> tabulate_edges(const EdgeView& view,
                                           const EdgeSums& sums,
                                           const LikelihoodReference& about,
                                           const ParallelFor& parallel_for) {
  if (sums.rise.n + sums.fall.n <= about.most_single) {
    return single_cells(view, sums, about);
  }
  const WindowColumns columns(about.sigma);
  const std::size_t blocks = view.block_count();
  std::vector<std::optional<EdgeTable>> tables(std::min(kTables, blocks));
  parallel_for(tables.size(), [&](std::size_t t) {
    EdgeTable& table = tables[t].emplace(columns, about);
    FrameBlock block;
    const std::size_t end = (t + 1) * blocks / tables.size();
    for (std::size_t b = t * blocks / tables.size(); b < end; ++b) {
      if (!about.sample.may_meet(view, b, sums.frame)) continue;
      if (about.extremes && is_silent(*about.extremes, b, about, columns)) {
        continue;
      }
      block.read(view, b, sums.frame);
      add_block(block, about.sample, table);
    }
  });
  for (std::size_t t = 1; t < tables.size(); ++t) tables[0]->add(*tables[t]);
  return tables[0]->cells();
}

}  // namespace clockassay
