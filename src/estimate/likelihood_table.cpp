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
                                         const EdgeFrame& frame,
                                         const LikelihoodReference& about) {
  // Rising edges first, whatever the blocks: sums are then the same.
  std::vector<LikelihoodCell> cells, falls;
  FrameBlock block;
  const auto append = [&](const auto& edges, bool fall,
                          std::vector<LikelihoodCell>& to) {
    const PlaceLine line = place_line(about, fall);
    for (std::size_t i = 0; i < edges.count(); ++i) {
      to.push_back({static_cast<double>(edges.k(i)) / about.reach,
                    line.at(edges.k(i), edges.y(i)), 1.0, fall});
    }
  };
  for (std::size_t b = 0; b < view.block_count(); ++b) {
    block.read(view, b, frame);
    block.visit([&](const auto& rise, const auto& fall) {
      append(rise, false, cells);
      append(fall, true, falls);
    });
  }
  cells.insert(cells.end(), falls.begin(), falls.end());
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
      : columns_(&columns), about_(&about), sums_(2 * kGroups * width()) {}

  template <class Edges>
  void add(const Edges& edges, bool fall) {
    const PlaceLine line = place_line(*about_, fall);
    for_each_part(
        edges, [this](std::int64_t k) { return group_of(k); },
        [&](std::size_t group, const Edges& part) {
          add_part(part, line, (fall ? kGroups : 0) + group);
        });
  }
  void add(const EdgeTable& other) {
    for (std::size_t i = 0; i < sums_.size(); ++i) {
      sums_[i].n += other.sums_[i].n;
      sums_[i].k += other.sums_[i].k;
      sums_[i].place += other.sums_[i].place;
    }
  }

  std::vector<LikelihoodCell> cells() const {
    std::vector<LikelihoodCell> cells;
    for (std::size_t i = 0; i < sums_.size(); ++i) {
      const CellSums& c = sums_[i];
      if (c.n == 0) continue;
      const std::size_t column = i % width();
      const bool beyond = column >= columns_->count();
      const double origin = beyond ? 0.0 : columns_->origin(column);
      const double unit = beyond ? 1.0 / kBeyondPlaces : columns_->unit();
      const auto n = static_cast<double>(c.n);
      cells.push_back({static_cast<double>(c.k) / n / about_->reach,
                       origin + static_cast<double>(c.place) / n * unit, n,
                       i >= sums_.size() / 2});
    }
    return cells;
  }

 private:
  std::size_t width() const { return columns_->count() + 2; }
  std::size_t group_of(std::int64_t k) const {
    const double at =
        0.5 * (static_cast<double>(k) / about_->reach + 1.0) * kGroups;
    return static_cast<std::size_t>(std::clamp(at, 0.0, kGroups - 1.0));
  }

  void add_part(const SteadyEdges& edges, const PlaceLine& line,
                std::size_t row) {
    std::array<std::int32_t, kMaxBlockCycles> codes;
    const std::span<std::int32_t> used(codes.data(), edges.count());
    columns_->codes(edges, line, used);
    std::array<ColumnSums, WindowColumns::kMostColumns> sums{};
    add_codes(used, std::span(sums).first(columns_->count() + 2));
    CellSums* const cells = sums_.data() + row * width();
    for (std::size_t c = 0; c < columns_->count(); ++c) {
      cells[c].n += sums[c].n;
      cells[c].k += sums[c].n * edges.k0 + sums[c].number;
      cells[c].place += sums[c].place;
    }
    if (sums[columns_->count() + 1].n > 0) add_beyond(edges, line, row);
  }
  void add_part(const AnyEdges& edges, const PlaceLine& line, std::size_t row) {
    CellSums* const cells = sums_.data() + row * width();
    for (std::size_t i = 0; i < edges.count(); ++i) {
      const std::int32_t code = columns_->code(line.at(edges.k(i), edges.y(i)));
      const auto column =
          static_cast<std::size_t>(code / WindowColumns::kPlaces);
      if (column >= columns_->count()) continue;
      ++cells[column].n;
      cells[column].k += edges.k(i);
      cells[column].place += code % WindowColumns::kPlaces;
    }
    add_beyond(edges, line, row);
  }
  /// Edges beyond the ends of their windows.
  template <class Edges>
  void add_beyond(const Edges& edges, const PlaceLine& line, std::size_t row) {
    CellSums* const cells = sums_.data() + row * width() + columns_->count();
    for (std::size_t i = 0; i < edges.count(); ++i) {
      const double y = line.at(edges.k(i), edges.y(i));
      if (!columns_->is_beyond(y)) continue;
      CellSums& c = cells[y < 0.0 ? 0 : 1];
      ++c.n;
      c.k += edges.k(i);
      c.place += std::llround(y * kBeyondPlaces);
    }
  }

  const WindowColumns* columns_;
  const LikelihoodReference* about_;
  std::vector<CellSums> sums_;
};

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
    return single_cells(view, sums.frame, about);
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
      block.read(view, b, sums.frame);
      add_block(block, about.sample, table);
    }
  });
  for (std::size_t t = 1; t < tables.size(); ++t) tables[0]->add(*tables[t]);
  return tables[0]->cells();
}

}  // namespace clockassay
