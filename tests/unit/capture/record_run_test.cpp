// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/record_run.h"

#include <doctest/doctest.h>

#include <cstdint>
#include <memory>
#include <random>
#include <string>
#include <vector>

#include "support/simd_levels.h"

using namespace clockassay;

namespace {

std::unique_ptr<RecordRun> taken(const RecordShape& shape,
                                 const std::string& bytes, bool high,
                                 std::int64_t after,
                                 SimdLevel simd = simd_level()) {
  auto run = std::make_unique<RecordRun>();
  run->take(shape, bytes, high, after, simd);
  return run;
}

std::vector<std::int64_t> times_of(const RecordRun& run) {
  std::vector<std::int64_t> times;
  for (std::size_t i = 0; i < run.count(); ++i) {
    times.push_back((i % 2 == 0 ? run.odd() : run.even())[i / 2]);
  }
  return times;
}

/// "#0123\n1!\n": digits are the bytes 1 to 4, the level is byte 6.
const RecordShape kStamp("#0123\n1!\n", 0b11110, 6);

}  // namespace

TEST_CASE("RecordRun: takes what takes turns, by hand") {
  const std::string bytes = "#0010\n1!\n#0020\n0!\n#0031\n1!\n#0040\n0!\n";
  CHECK(times_of(*taken(kStamp, bytes, true, 9)) ==
        std::vector<std::int64_t>{10, 20, 31, 40});
  CHECK(taken(kStamp, bytes, true, 9)->last() == 40);
  CHECK(taken(kStamp, bytes, false, 9)->count() == 0);
  CHECK(taken(kStamp, bytes, true, 10)->count() == 0);
  CHECK(taken(kStamp, bytes.substr(0, 35), true, 9)->count() == 3);
  CHECK(taken(kStamp, "", true, 9)->count() == 0);
}

TEST_CASE("RecordRun: whatever byte is wrong ends the run there") {
  std::string bytes;
  for (int i = 0; i < 12; ++i) {
    bytes += "#" + std::to_string(1000 + 10 * i) + "\n";
    bytes += (i % 2 == 0 ? "1!\n" : "0!\n");
  }
  REQUIRE(taken(kStamp, bytes, true, 0)->count() == 12);
  for (std::size_t i = 0; i < bytes.size(); ++i) {
    for (const char c : {'x', ':', '/', '\0', '\xFF'}) {
      std::string damaged = bytes;
      damaged[i] = c;
      CAPTURE(i);
      for (const SimdLevel simd : test::simd_levels()) {
        CHECK(taken(kStamp, damaged, true, 0, simd)->count() == i / 9);
      }
    }
  }
}

TEST_CASE("RecordRun: times that do not increase end it") {
  std::string bytes;
  for (const int time : {1, 2, 3, 4, 5, 6, 7, 7, 8, 9, 10, 11}) {
    bytes += "#000" + std::to_string(time % 10) + "\n";
    bytes += (bytes.size() / 9 % 2 == 0 ? "1!\n" : "0!\n");
  }
  for (const SimdLevel simd : test::simd_levels()) {
    CHECK(times_of(*taken(kStamp, bytes, true, 0, simd)) ==
          std::vector<std::int64_t>{1, 2, 3, 4, 5, 6, 7});
  }
}

TEST_CASE("RecordRun: the same with every level of instructions, any shape") {
  constexpr unsigned kSeed = 5;
  CAPTURE(kSeed);
  std::mt19937_64 random(kSeed);
  const auto below = [&](std::uint64_t n) {
    return static_cast<std::size_t>(random() % n);
  };
  std::size_t all = 0;
  for (int trial = 0; trial < 3000; ++trial) {
    const std::size_t size = 2 + below(RecordShape::kLongest - 1);
    const std::size_t level = below(size);
    // Digits in one piece or with another byte between, as in 0.123.
    std::uint32_t digits = 0;
    for (std::size_t i = 0; i < std::min(size, RecordShape::kDigitBytes); ++i) {
      if (i != level && below(4) != 0) digits |= 1u << i;
    }
    std::string record;
    for (std::size_t i = 0; i < size; ++i) {
      record += i == level ? '1' : "#,.\n ;abc"[below(9)];
    }
    const RecordShape shape(record, digits, level);
    const std::size_t count = below(60);
    std::string bytes;
    bool high = below(2) == 0;
    const bool first = high;
    std::vector<std::int64_t> times;
    std::int64_t time = 0;
    for (std::size_t n = 0; n < count; ++n) {
      std::string text = record;
      text[level] = high ? '1' : '0';
      high = !high;
      time += 1 + static_cast<std::int64_t>(below(1000));
      std::int64_t rest = time;
      for (std::size_t i = RecordShape::kDigitBytes; i-- > 0;) {
        if ((digits >> i & 1) == 0) continue;
        text[i] = static_cast<char>('0' + rest % 10);
        rest /= 10;
      }
      if (rest > 0) break;  // too few digits for the time
      times.push_back(time);
      bytes += text;
    }
    CAPTURE(trial);
    CAPTURE(record);
    test::at_each_simd_level([&] {
      CHECK(times_of(*taken(shape, bytes, first, 0, simd_level())) == times);
    });
    all += times.size();
    if (!bytes.empty() && below(2) == 0) {
      bytes[below(bytes.size())] = static_cast<char>(random() % 256);
    }
    const auto plain = taken(shape, bytes, first, 0, SimdLevel::kPlain);
    for (const SimdLevel simd : test::simd_levels()) {
      CHECK(times_of(*taken(shape, bytes, first, 0, simd)) == times_of(*plain));
    }
  }
  CHECK(all > 30000);
}

TEST_CASE("RecordRun: takes no more than it has room for") {
  std::string bytes;
  for (std::size_t i = 0; i < RecordRun::kMost + 100; ++i) {
    bytes +=
        "#" + std::to_string(1000 + i) + (i % 2 == 0 ? "\n1!\n" : "\n0!\n");
  }
  for (const SimdLevel simd : test::simd_levels()) {
    const auto run = taken(kStamp, bytes, true, 0, simd);
    CHECK(run->count() == RecordRun::kMost);
    CHECK(run->last() == 999 + static_cast<std::int64_t>(RecordRun::kMost));
  }
}

TEST_CASE("RecordRun: scaling leaves alone what is beyond the last record") {
  // The second record is given up, and its time in the new ticks would be
  // beyond 64 bits: the undefined-behaviour sanitizer sees it if it is scaled.
  const RecordShape row("1000000000,0\n", 0b1111111111, 11);
  auto run = taken(row, "1000000000,0\n9999999999,1\n", false, 0);
  REQUIRE(run->count() == 2);
  run->keep_until(1'000'000'000);
  REQUIRE(run->count() == 1);
  run->scale(4'000'000'000);
  CHECK(times_of(*run) == std::vector<std::int64_t>{4'000'000'000'000'000'000});
  CHECK(run->even().empty());
}
