// SPDX-License-Identifier: GPL-3.0-or-later
// Packed blocks read as steady edges against the same edges written out.
#include "estimate/frame_block.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <memory>
#include <random>
#include <type_traits>
#include <vector>

#include "clockassay/estimate/edge_line.h"
#include "clockassay/estimate/feasible_set.h"
#include "clockassay/estimate/pulse_widths.h"
#include "clockassay/estimate/residual_pass.h"
#include "estimate/likelihood_table.h"
#include "estimate/packed_sums.h"
#include "estimate/phase_parts.h"
#include "support/approx.h"
#include "support/test_stretch.h"

using namespace clockassay;

namespace {

struct Point {
  std::int64_t k, y;
  friend bool operator==(const Point&, const Point&) = default;
};

struct Points {
  std::vector<Point> rise, fall;
  int steady_blocks = 0;
};

template <class Edges>
void append(const Edges& edges, std::vector<Point>& to) {
  for (std::size_t i = 0; i < edges.count(); ++i) {
    to.push_back({edges.k(i), edges.y(i)});
  }
}

Points points_of(const EdgeView& view, const EdgeFrame& frame) {
  Points points;
  const auto block = std::make_unique<FrameBlock>();
  for (std::size_t i = 0; i < view.block_count(); ++i) {
    block->read(view, i, frame);
    block->visit([&](const auto& rise, const auto& fall) {
      append(rise, points.rise);
      append(fall, points.fall);
      points.steady_blocks +=
          std::is_same_v<decltype(rise), const SteadyEdges&> ? 1 : 0;
    });
  }
  return points;
}

/// The same stretch with every edge written out.
Stretch written_out(const Stretch& packed) {
  Stretch out = packed;
  out.blocks.clear();
  const EdgeView view(packed);
  const auto edges = std::make_unique<BlockEdges>();
  for (std::size_t b = 0; b < view.block_count(); ++b) {
    view.read_block(b, *edges);
    ExplicitEdges all;
    for (std::size_t i = 0; i < edges->rise.count; ++i) {
      all.rise.push_back({edges->rise.cycle[i], edges->rise.tick[i]});
    }
    for (std::size_t i = 0; i < edges->fall.count; ++i) {
      all.fall.push_back({edges->fall.cycle[i], edges->fall.tick[i]});
    }
    out.blocks.push_back({edges->first_cycle, edges->first_tick, all});
  }
  return out;
}

constexpr std::uint64_t kSeed = 23;

TestStretch sampled(double period, double sigma) {
  std::mt19937_64 random(kSeed);
  const SampledEdges e = sample_edges(period, 0.4, sigma, 20'000, random);
  return stretch_from_edges(e.rises, e.falls, 2000);
}

bool equal_hulls(const PointHulls& a, const PointHulls& b) {
  const auto equal = [](const auto& x, const auto& y) {
    return std::equal(x.begin(), x.end(), y.begin(), y.end(),
                      [](const FramePoint& p, const FramePoint& q) {
                        return p.k == q.k && p.y == q.y;
                      });
  };
  return equal(a.upper, b.upper) && equal(a.lower, b.lower);
}

bool equal_cells(const std::vector<LikelihoodCell>& a,
                 const std::vector<LikelihoodCell>& b) {
  return std::equal(a.begin(), a.end(), b.begin(), b.end(),
                    [](const LikelihoodCell& x, const LikelihoodCell& y) {
                      return x.k == y.k && x.y == y.y && x.weight == y.weight &&
                             x.fall == y.fall;
                    });
}

}  // namespace

TEST_CASE("FrameBlock: packed blocks hold the edges that read_block gives") {
  INFO("seed ", kSeed);
  for (const double period : {40.382, 40.0, 1000.49}) {
    const TestStretch packed = sampled(period, 0.4);
    const Stretch out = written_out(packed.stretch);
    const Ticks first = packed.stretch.first, last = packed.stretch.last;
    // All of it, a part that cuts blocks, and either polarity alone.
    const auto cut = [&](const EdgeView& view) {
      return view.part(first + Ticks(12'345), last - Ticks(54'321));
    };
    const EdgeView a(packed.stretch), b(out);
    const std::pair<EdgeView, EdgeView> pairs[] = {
        {a, b},
        {cut(a), cut(b)},
        {a.only(Polarity::kRising), b.only(Polarity::kRising)},
        {a.only(Polarity::kFalling), b.only(Polarity::kFalling)}};
    for (const auto& [view, plain] : pairs) {
      const EdgeFrame frame = frame_of(view);
      const Points points = points_of(view, frame);
      const Points expected = points_of(plain, frame);
      CHECK(points.steady_blocks >= 7);
      CHECK(expected.steady_blocks == 0);
      CHECK(points.rise == expected.rise);
      CHECK(points.fall == expected.fall);
    }
  }
}

TEST_CASE("FrameBlock: every pass says the same of packed and other blocks") {
  INFO("seed ", kSeed);
  const TestStretch packed = sampled(40.382, 0.6);
  const Stretch out = written_out(packed.stretch);
  const EdgeView a(packed.stretch), b(out);
  const EdgeSums sums = sum_edges(a, serial_for).value();
  const EdgeSums plain = sum_edges(b, serial_for).value();
  CHECK(sums.rise == plain.rise);
  CHECK(sums.fall == plain.fall);
  CHECK(sums.periods.squares == plain.periods.squares);
  CHECK(sums.periods.pair_squares == plain.periods.pair_squares);
  CHECK(sums.periods.pair_peak == plain.periods.pair_peak);
  CHECK(sums.first_cycle == plain.first_cycle);
  CHECK(sums.last_cycle == plain.last_cycle);

  CHECK(equal_hulls(all_hulls(a, sums.frame).rise,
                    all_hulls(b, sums.frame).rise));
  const ViewExtremes extremes = find_extremes(a, sums.frame, 0.01, serial_for);
  const ViewExtremes plain_extremes =
      find_extremes(b, sums.frame, 0.01, serial_for);
  const ResidualPass pass = pass_residuals(a, sums, extremes, 32, serial_for);
  const ResidualPass plain_pass =
      pass_residuals(b, sums, plain_extremes, 32, serial_for);
  CHECK(pass.parts == plain_pass.parts);
  // y reaches 4e3, a slope times k 1e2: a few roundings of these.
  CHECK(pass.lowest == testing::approx(plain_pass.lowest).epsilon(1e-14));
  CHECK(pass.highest == testing::approx(plain_pass.highest).epsilon(1e-14));

  const PhaseParts parts = make_phase_parts(a, serial_for);
  const PhaseParts plain_parts = make_phase_parts(b, serial_for);
  REQUIRE(parts.parts.size() == plain_parts.parts.size());
  REQUIRE(parts.parts.size() > 64);
  for (std::size_t i = 0; i < parts.parts.size(); ++i) {
    CHECK(parts.parts[i].y == plain_parts.parts[i].y);
    CHECK(parts.parts[i].slope == plain_parts.parts[i].slope);
    CHECK(parts.parts[i].variance == plain_parts.parts[i].variance);
  }
  // Edges of about 0.7 of a window of jitter about a line near theirs: in
  // columns, between and beyond them, all of them and a sample.
  LikelihoodReference about;
  const LineFit line = fit_line(sums.rise, sums.fall).value();
  about.slope = line.slope + 1e-6;
  about.rise = line.rise_intercept - 0.4;
  about.fall = *line.fall_intercept - 0.6;
  about.window = 1.0;
  about.reach = static_cast<double>(sums.last_cycle);
  for (const double sigma : {0.004, 0.05, 0.3}) {
    for (const std::int64_t most : {100'000, 5'000}) {
      about.sigma = sigma;
      about.sample = CycleSample(sums.first_cycle, sums.last_cycle, most);
      const auto cells = tabulate_edges(a, sums, about, serial_for);
      const auto plain_cells = tabulate_edges(b, sums, about, serial_for);
      CHECK(cells.size() > 100);
      CHECK(equal_cells(cells, plain_cells));
    }
  }
  // Little jitter: most blocks say nothing and need not be read.
  about.sigma = 2e-5;
  about.sample = CycleSample();
  const auto cells = tabulate_edges(a, sums, about, serial_for);
  const ViewExtremes near =
      find_extremes(a, sums.frame, about.slope - 3e-6, serial_for);
  about.extremes = &near;
  CHECK(!cells.empty());
  CHECK(equal_cells(tabulate_edges(a, sums, about, serial_for), cells));
  for (const double ticks : {0.5, 15.5, 16.5, 24.5, 100.0}) {
    const PulseWidths pulses = count_pulses(a, ticks, serial_for);
    const PulseWidths plain_pulses = count_pulses(b, ticks, serial_for);
    CHECK(pulses.highs == plain_pulses.highs);
    CHECK(pulses.long_highs == plain_pulses.long_highs);
    CHECK(pulses.lows == plain_pulses.lows);
    CHECK(pulses.long_lows == plain_pulses.long_lows);
  }
}

TEST_CASE("packed_sums: those of the edges, in any frame") {
  const TestStretch packed = sampled(40.382, 0.6);
  const Stretch out = written_out(packed.stretch);
  const EdgeView a(packed.stretch), b(out);
  std::size_t with_sums = 0;
  for (const std::int64_t longer : {0, 1, -37, 4096, -4096, 4097}) {
    CAPTURE(longer);
    EdgeFrame frame = frame_of(a);
    frame.period += longer;
    for (std::size_t i = 0; i < a.block_count(); ++i) {
      if (!a.whole_block(i)) continue;  // the lone edges at the end
      const auto sums = packed_sums(a, i, frame, kMostResidual);
      // Steps of 2^12 are the most: 40.382 is 40 in the frame and in a block.
      CHECK(sums.has_value() == (std::abs(longer) <= 4096));
      if (!sums) continue;
      ++with_sums;
      FrameBlock edges;
      edges.read(b, i, frame);
      edges.visit([&](const auto& rise, const auto& fall) {
        LineSums rises, falls;
        Int128 squares = 0;
        for (std::size_t j = 0; j < rise.count(); ++j) {
          rises.add(rise.k(j), rise.y(j));
          falls.add(fall.k(j), fall.y(j));
          if (j == 0) continue;
          const std::int64_t step = rise.y(j) - rise.y(j - 1);
          squares += Int128(step) * step;
        }
        LineSums packed_rises, packed_falls;
        packed_rises.add_shifted(sums->rise, sums->k0, sums->rise_y0);
        packed_falls.add_shifted(sums->fall, sums->k0, sums->fall_y0);
        CHECK(packed_rises == rises);
        CHECK(packed_falls == falls);
        CHECK(sums->periods.squares == squares);
        CHECK(sums->periods.sum == rise.y(rise.count() - 1) - rise.y(0));
        REQUIRE(sums->ends.size() == 4);
        CHECK(sums->ends[1] == NumberedEdge{rise.k(1), rise.y(1)});
        const std::size_t last = rise.count() - 1;
        CHECK(sums->ends[3] == NumberedEdge{rise.k(last), rise.y(last)});
      });
      // One that may reach the limit has none.
      CHECK_FALSE(packed_sums(a, i, frame, 1000));
    }
  }
  CHECK(with_sums > 30);
}
