// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/capture/cycle_block.h"

#include <doctest/doctest.h>

#include <cstdint>
#include <limits>
#include <memory>
#include <random>
#include <vector>

namespace clockassay {
namespace {

std::unique_ptr<DecodedCycles> decoded(const CycleBlock& block) {
  auto out = std::make_unique<DecodedCycles>();
  decode_cycles(block, *out);
  return out;
}

TEST_CASE("encode_cycles: two cycles, by hand") {
  Arena arena;
  // Rises at 100, 110; falls at 104, 115; the next rise at 122.
  const std::vector<std::int64_t> periods{10, 12};
  const std::vector<std::int64_t> highs{4, 5};
  const CycleBlock block = encode_cycles(Ticks(100), periods, highs, arena);
  CHECK(block.count == 2);
  CHECK(block.width == 1);
  CHECK(block.first == Ticks(100));
  CHECK(block.end == Ticks(122));
  CHECK(block.period_min == 10);
  CHECK(block.period_max == 12);
  CHECK(block.high_min == 4);
  CHECK(block.high_max == 5);
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
    std::int64_t range;  // largest less smallest period
    int width;
  };
  // Offsets from the middle low + range / 2 run from -(range / 2) to
  // range - range / 2, so 255 is the last range that fits -128 … 127 … 128:
  // range 254 gives ±127, 255 gives -127 … 128, which needs two bytes.
  for (const Case c :
       {Case{0, 1}, Case{254, 1}, Case{255, 2}, Case{65534, 2}, Case{65535, 4},
        Case{4294967294, 4}, Case{4294967295, 8}}) {
    CAPTURE(c.range);
    Arena arena;
    const std::vector<std::int64_t> periods{1000, 1000 + c.range};
    const std::vector<std::int64_t> highs{500, 500};
    const CycleBlock block = encode_cycles(Ticks(0), periods, highs, arena);
    CHECK(int{block.width} == c.width);
    const auto out = decoded(block);
    CHECK(out->rise[1] == 1000);
    CHECK(block.end == Ticks(2000 + c.range));
  }
}

TEST_CASE("encode_cycles: the largest stamps survive") {
  Arena arena;
  const std::int64_t top = std::numeric_limits<std::int64_t>::max();
  const std::vector<std::int64_t> periods{2, top - 2};
  const std::vector<std::int64_t> highs{1, top - 3};
  const CycleBlock block = encode_cycles(Ticks(0), periods, highs, arena);
  CHECK(block.end == Ticks(top));
  const auto out = decoded(block);
  CHECK(out->fall[0] == 1);
  CHECK(out->rise[1] == 2);
  CHECK(out->fall[1] == top - 1);
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

}  // namespace
}  // namespace clockassay
