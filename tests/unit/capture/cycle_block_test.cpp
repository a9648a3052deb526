// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/capture/cycle_block.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cstdint>
#include <limits>
#include <memory>
#include <random>
#include <vector>

#include "base/simd_level.h"
#include "support/simd_levels.h"

namespace clockassay {
namespace {

using Edges = std::vector<std::int64_t>;

std::unique_ptr<DecodedCycles> decoded(const CycleBlock& block) {
  auto out = std::make_unique<DecodedCycles>();
  decode_cycles(block, *out);
  return out;
}

TEST_CASE("encode_cycles: two cycles, by hand") {
  Arena arena;
  // Rises at 100, 110; falls at 104, 115; the next rise at 122.
  const CycleBlock block =
      encode_cycles(Edges{100, 110, 122}, Edges{104, 115}, arena);
  CHECK(block.count == 2);
  CHECK(block.width == 1);
  CHECK(block.first == Ticks(100));
  CHECK(block.end == Ticks(122));
  CHECK(block.period_min == 10);
  CHECK(block.period_max == 12);
  CHECK(block.high_min == 4);
  CHECK(block.high_max == 5);
  CHECK(block.low_min == 6);
  CHECK(block.low_max == 7);
  const auto out = decoded(block);
  REQUIRE(out->count == 2);
  CHECK(out->first == Ticks(100));
  CHECK(out->rise[0] == 0);
  CHECK(out->fall[0] == 4);
  CHECK(out->rise[1] == 10);
  CHECK(out->fall[1] == 15);
}

TEST_CASE("encode_cycles: the width follows from the range around its middle") {
  struct Case {
    std::int64_t bend;  // how far the middle edge is below the line
    int width;
  };
  // What the line leaves is 0 and -bend. Offsets from their middle, -bend +
  // bend / 2, are -(bend / 2) and bend - bend / 2: 254 gives ±127, and 255
  // gives -127 and 128, which needs two bytes.
  for (const Case c :
       {Case{0, 1}, Case{254, 1}, Case{255, 2}, Case{65534, 2}, Case{65535, 4},
        Case{4294967294, 4}, Case{4294967295, 8}}) {
    CAPTURE(c.bend);
    Arena arena;
    const std::int64_t end = 2 * (1000 + c.bend);
    const CycleBlock block =
        encode_cycles(Edges{0, 1000, end}, Edges{500, 1500}, arena);
    CHECK(int{block.width} == c.width);
    const auto out = decoded(block);
    CHECK(out->rise[1] == 1000);
    CHECK(block.end == Ticks(end));
  }
}

TEST_CASE("encode_cycles: the largest stamps survive") {
  Arena arena;
  const std::int64_t top = std::numeric_limits<std::int64_t>::max();
  const CycleBlock block =
      encode_cycles(Edges{0, 2, top}, Edges{1, top - 1}, arena);
  CHECK(block.end == Ticks(top));
  const auto out = decoded(block);
  CHECK(out->fall[0] == 1);
  CHECK(out->rise[1] == 2);
  CHECK(out->fall[1] == top - 1);
}

TEST_CASE("encode_cycles: the sums of a block, by hand") {
  // Three cycles of 10 with rises at 0, 11, 20 and high times 4, 5, 4: the base
  // period is 10, y = 0, 1, 0 and, beside the middle high time of 4, z = 0, 2,
  // 0; y steps by 1 and -1.
  Arena arena;
  const CycleBlock block =
      encode_cycles(Edges{100, 111, 120, 130}, Edges{104, 116, 124}, arena);
  REQUIRE(block.has_sums);
  REQUIRE(block.base_period == 10);
  REQUIRE(block.base_high == 4);
  CHECK(block.sums.rise == OffsetSums{1, 1, 1, 0, 1});
  CHECK(block.sums.fall == OffsetSums{2, 2, 4, 0, 2});
  CHECK(block.sums.steps == StepSums{2, 4, 2, -1, 1});
  // Edges too far from steady for sums of 64 bits.
  const std::int64_t far = std::int64_t{1} << 22;
  CHECK_FALSE(encode_cycles(Edges{0, 10, far}, Edges{5, 15}, arena).has_sums);
}

TEST_CASE("CycleEncoder: what goes in comes out, block after block") {
  constexpr unsigned kSeed = 20240611;
  std::mt19937_64 random(kSeed);
  CAPTURE(kSeed);
  Arena arena;
  CycleEncoder encoder(arena);
  for (const std::int64_t spread : {1, 200, 70000, 5000000}) {
    CHECK(encoder.empty());
    std::vector<std::int64_t> edges{17};
    std::uniform_int_distribution<std::int64_t> step(1, spread);
    for (std::size_t i = 0; i < 2 * kMaxBlockCycles; ++i) {
      edges.push_back(edges.back() + step(random));
    }
    for (std::size_t i = 0; i + 2 < edges.size(); i += 2) {
      CHECK_FALSE(encoder.full());
      encoder.add(Ticks(edges[i]), Ticks(edges[i + 1]), Ticks(edges[i + 2]));
    }
    REQUIRE(encoder.full());
    const CycleBlock block = encoder.flush();
    const auto out = decoded(block);
    REQUIRE(out->count == kMaxBlockCycles);
    for (std::size_t i = 0; i < out->count; ++i) {
      REQUIRE(17 + out->rise[i] == edges[2 * i]);
      REQUIRE(17 + out->fall[i] == edges[2 * i + 1]);
    }
    CHECK(block.end == Ticks(edges.back()));
  }
}

TEST_CASE("encode_cycles: every level of instructions gives the same block") {
  constexpr unsigned kSeed = 41;
  std::mt19937_64 random(kSeed);
  CAPTURE(kSeed);
  const SimdLevel best = simd_level();
  for (const std::int64_t spread : {1, 3, 200, 70000, 900000, 3000000}) {
    for (const std::size_t cycles : {1u, 2u, 7u, 100u, 2047u, 2048u}) {
      for (const SimdLevel level : test::simd_levels()) {
        std::uniform_int_distribution<std::int64_t> step(1, spread);
        Edges rises{-12345}, falls;
        for (std::size_t i = 0; i < cycles; ++i) {
          falls.push_back(rises.back() + step(random));
          rises.push_back(falls.back() + step(random));
        }
        Arena arena;
        limit_simd_level(SimdLevel::kPlain);
        const CycleBlock plain = encode_cycles(rises, falls, arena);
        const auto plain_out = decoded(plain);
        limit_simd_level(level);
        const CycleBlock block = encode_cycles(rises, falls, arena);
        const auto out = decoded(block);
        limit_simd_level(best);
        CAPTURE(simd_level_name(level));
        CAPTURE(spread);
        CAPTURE(cycles);
        REQUIRE(plain.width == block.width);
        const std::size_t bytes = 2 * cycles * block.width;
        CHECK(std::equal(block.offsets, block.offsets + bytes, plain.offsets));
        CHECK(plain.base_period == block.base_period);
        CHECK(plain.fraction == block.fraction);
        CHECK(plain.base_rise == block.base_rise);
        CHECK(plain.base_high == block.base_high);
        CHECK(plain.period_min == block.period_min);
        CHECK(plain.period_max == block.period_max);
        CHECK(plain.high_min == block.high_min);
        CHECK(plain.high_max == block.high_max);
        CHECK(plain.low_min == block.low_min);
        CHECK(plain.low_max == block.low_max);
        for (std::size_t i = 0; i < cycles; ++i) {
          REQUIRE(out->rise[i] == rises[i] + 12345);
          REQUIRE(out->fall[i] == falls[i] + 12345);
          REQUIRE(plain_out->rise[i] == out->rise[i]);
          REQUIRE(plain_out->fall[i] == out->fall[i]);
        }
      }
    }
  }
}

TEST_CASE(
    "decode_residuals: the same edges, where they are close to a period") {
  constexpr std::uint64_t kSeed = 3;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  const SimdLevel best = simd_level();
  auto out = std::make_unique<CycleResiduals>();
  for (const std::int64_t spread : {1, 100, 20'000, 100'000}) {
    for (const std::size_t cycles : {1u, 2u, 37u, 2048u}) {
      std::uniform_int_distribution<std::int64_t> off(-spread, spread);
      // Edges off a line by so much, so that low and high times stay positive.
      Edges rises, falls;
      for (std::size_t i = 0; i <= cycles; ++i) {
        const std::int64_t at = static_cast<std::int64_t>(i) * 1'000'003;
        rises.push_back(at + off(random));
        falls.push_back(at + 500'000 + off(random));
      }
      falls.pop_back();
      Arena arena;
      const CycleBlock block = encode_cycles(rises, falls, arena);
      for (const std::int64_t step : {0, 1, -4'000, 4'000, 5'000, -5'000}) {
        const std::int64_t period = block.base_period - step;
        for (const SimdLevel level : test::simd_levels()) {
          CAPTURE(spread);
          CAPTURE(cycles);
          CAPTURE(step);
          limit_simd_level(level);
          const bool narrow = decode_residuals(block, period, *out);
          limit_simd_level(best);
          // Offsets of 16 bits hold up to 32 767 either way of the middle.
          const bool expected = block.width <= 2 && std::abs(step) <= 4'096;
          CHECK(narrow == expected);
          if (spread <= 100) CHECK(block.width <= 2);
          if (!narrow) continue;
          REQUIRE(out->count == cycles);
          for (std::size_t i = 0; i < cycles; ++i) {
            const std::int64_t line =
                rises[0] + static_cast<std::int64_t>(i) * period;
            REQUIRE(std::abs(out->rise[i]) < kNarrowResidual);
            REQUIRE(std::abs(out->fall[i]) < kNarrowResidual);
            REQUIRE(line + out->rise[i] == rises[i]);
            REQUIRE(line + out->high + out->fall[i] == falls[i]);
          }
        }
      }
    }
  }
}

TEST_CASE("decode_residuals: a period too far away to subtract is refused") {
  Arena arena;
  const CycleBlock block = encode_cycles(Edges{0, 10, 20}, Edges{5, 15}, arena);
  auto out = std::make_unique<CycleResiduals>();
  CHECK_FALSE(
      decode_residuals(block, std::numeric_limits<std::int64_t>::min(), *out));
}

}  // namespace
}  // namespace clockassay
