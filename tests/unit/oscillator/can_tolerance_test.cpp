// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/oscillator/can_tolerance.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <random>
#include <string>

#include "support/load_vectors.h"

namespace clockassay {
namespace {

Rational ratio(Int128 num, Int128 den) {
  return Rational::make(num, den).value();
}

TEST_CASE("can_classic_tolerance: the two published examples") {
  // Bosch CAN Specification 2.0 and component manuals that work it out:
  // tbit 1 us, pb1 0.1 us, pb2 0.2 us: 0.1/(2(13-0.2)) = 1/256, printed 0.39 %.
  const auto first = can_classic_tolerance(
      {ratio(1, 10), Rational(1), ratio(1, 10), ratio(1, 5)});
  REQUIRE(first.has_value());
  CHECK(*first == ratio(1000000, 256));  // 3906.25 ppm = 0.390625 %
  // tbit 10 us, pb1 = pb2 = 4 us: 4/(2(130-4)) = 1/63, printed 1.58 %.
  const auto second = can_classic_tolerance({4, 10, 4, 4});
  REQUIRE(second.has_value());
  CHECK(*second == ratio(1000000, 63));  // 15873.02 ppm = 1.587302 %
}

TEST_CASE("can_classic_tolerance: the jump width limits when it is small") {
  // sjw/(20 tbit) = 1/320 = 3125 ppm; the phase buffers alone would allow
  // 4/(2(208-4)) = 1/102 = 9804 ppm.
  CHECK(can_classic_tolerance({1, 16, 5, 4}) == Rational(3125));
}

TEST_CASE("can_classic_tolerance: time quanta or seconds, the same") {
  constexpr std::uint64_t kSeed = 11898;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  const Rational quantum = ratio(1, 8000000);
  for (int i = 0; i < 500; ++i) {
    const auto pb1 = static_cast<std::int64_t>(1 + random() % 8);
    const auto pb2 = static_cast<std::int64_t>(1 + random() % 8);
    const auto sjw = static_cast<std::int64_t>(
        1 + random() % static_cast<std::uint64_t>(std::min(pb1, pb2)));
    const auto tbit =
        pb1 + pb2 + 1 + static_cast<std::int64_t>(1 + random() % 8);
    CAPTURE(i);
    const auto quanta = can_classic_tolerance({sjw, tbit, pb1, pb2});
    REQUIRE(quanta.has_value());
    CHECK(can_classic_tolerance(
              {*multiply(sjw, quantum), *multiply(tbit, quantum),
               *multiply(pb1, quantum), *multiply(pb2, quantum)}) == *quanta);
    // With m = min(pb1, pb2): 13 tbit - pb2 > 13 pb1 + 12 pb2 >= 25 m, so no
    // timing allows 1/50.
    CHECK(quanta->sign() > 0);
    CHECK(*quanta < ratio(1000000, 50));
  }
}

TEST_CASE("can_classic_tolerance: a timing that is none is refused") {
  struct Row {
    CanBitTiming timing;
    const char* message;
  };
  const Row rows[] = {
      {{0, 16, 5, 4}, "CAN bit timing: found sjw = 0, expected more than zero"},
      {{1, -16, 5, 4},
       "CAN bit timing: found tbit = -16, expected more than zero"},
      {{5, 16, 5, 4},
       "CAN bit timing: found sjw = 5, expected at most the shorter phase "
       "buffer, 4"},
      {{1, 9, 5, 4},
       "CAN bit timing: found pb1 = 5 and pb2 = 4, expected a sum below tbit "
       "= 9"},
  };
  for (const Row& expected : rows) {
    const auto result = can_classic_tolerance(expected.timing);
    INFO(expected.message);
    REQUIRE_FALSE(result.has_value());
    CHECK(result.error().code == ErrorCode::kUsage);
    CHECK(result.error().message == expected.message);
    CHECK(result.error().hint ==
          "sjw, tbit, pb1, pb2 all in time quanta or all in seconds, for "
          "example sjw=1,tbit=16,pb1=5,pb2=4");
  }
}

TEST_CASE("can_classic_tolerance: the misplaced parenthesis of one manual") {
  // min / (2 (13 (tbit - pb2))) would allow 4/(2*13*6) = 2.564103 % where it
  // is 1.587302 %.
  const auto limit = can_classic_tolerance({4, 10, 4, 4});
  REQUIRE(limit.has_value());
  CHECK(*limit != ratio(4000000, 156));
  const auto& trap = testing::plan_trap("X11");
  const double tolerance = trap["right"]["tol_abs"].get<double>();
  CHECK(std::abs(limit->to_double() / 1e4 -
                 trap["right"]["value"].get<double>()) <= tolerance);
  CHECK(std::abs(4e6 / 156 / 1e4 - trap["wrong"]["value"].get<double>()) <=
        tolerance);
}

// 80 MHz, 500 kb/s and 2 Mb/s: the segments of a controller maker's example.
CanFdBitTiming example() {
  return {{32, 160, 32, 32}, 1, 8, 40, 8, 1};
}

TEST_CASE("can_fd_tolerance: the five conditions of a worked example") {
  // Formulas from public code after ISO 11898-1:2015, worked out apart from
  // this code to 1 ppm: 1.0, 0.78125, 1.0, 1.1834 and 0.8772 %.
  const auto result = can_fd_tolerance(example());
  REQUIRE(result.has_value());
  const double published_percent[] = {1.0, 0.78125, 1.0, 1.1834, 0.8772};
  for (std::size_t i = 0; i < kCanFdConditions; ++i) {
    CAPTURE(can_fd_condition_name(i));
    // To the last digit given, 1 ppm.
    CHECK(std::abs(result->each_ppm[i].to_double() -
                   1e4 * published_percent[i]) <= 1.0);
  }
  CHECK(result->strictest == 1);
  // By hand: 32/(2(13*160-32)) = 32/4096; 32/(2(6*40-8+7*160)) = 32/2704;
  // 8/(2(2*160-32+8+4*40)) = 8/912.
  CHECK(result->each_ppm[1] == ratio(1000000, 128));
  CHECK(result->each_ppm[3] == ratio(32000000, 2704));
  CHECK(result->each_ppm[4] == ratio(8000000, 912));
}

TEST_CASE("can_fd_tolerance: the nominal phase alone is CAN classic") {
  const auto result = can_fd_tolerance(example());
  REQUIRE(result.has_value());
  CHECK(std::min(result->each_ppm[0], result->each_ppm[1]) ==
        can_classic_tolerance(example().nominal));
}

TEST_CASE("can_fd_tolerance: prescalers weigh the phases against each other") {
  // The same bits in quanta half as many and twice as long, in both phases:
  // nothing changes.
  const CanFdBitTiming coarse = {{16, 80, 16, 16}, 2, 4, 20, 4, 2};
  const auto fine_result = can_fd_tolerance(example());
  const auto coarse_result = can_fd_tolerance(coarse);
  REQUIRE(fine_result.has_value());
  REQUIRE(coarse_result.has_value());
  CHECK(coarse_result->each_ppm == fine_result->each_ppm);
  // Coarse in the nominal phase only: a data quantum of the jump width is lost
  // at the switch, (8 - 1)/(2((2*80 - 16)*2 + 8 + 160)) = 7/912.
  const CanFdBitTiming mixed = {{16, 80, 16, 16}, 2, 8, 40, 8, 1};
  const auto mixed_result = can_fd_tolerance(mixed);
  REQUIRE(mixed_result.has_value());
  CHECK(mixed_result->each_ppm[4] == ratio(7000000, 912));
  CHECK(mixed_result->strictest == 4);
  for (std::size_t i = 0; i < 4; ++i) {
    CHECK(mixed_result->each_ppm[i] == fine_result->each_ppm[i]);
  }
}

TEST_CASE("can_fd_tolerance: a timing that is none is refused") {
  struct Row {
    CanFdBitTiming timing;
    const char* message;
  };
  const Row rows[] = {
      {{{0, 160, 32, 32}, 1, 8, 40, 8, 1},
       "CAN FD bit timing: found nsjw = 0, expected more than zero"},
      {{{32, 160, 16, 32}, 1, 8, 40, 8, 1},
       "CAN FD bit timing: found nsjw = 32, expected at most the shorter phase "
       "buffer, 16"},
      {{{32, 64, 32, 32}, 1, 8, 40, 8, 1},
       "CAN FD bit timing: found npb1 = 32 and npb2 = 32, expected a sum below "
       "ntbit = 64"},
      {{{32, 160, 32, 32}, 1, 9, 40, 8, 1},
       "CAN FD bit timing: found dsjw = 9, expected at most dpb2 = 8"},
      {{{32, 160, 32, 32}, 1, 8, 8, 8, 1},
       "CAN FD bit timing: found dpb2 = 8, expected less than dtbit = 8"},
      {{{32, 160, 32, 32}, 0, 8, 40, 8, 1},
       "CAN FD bit timing: found nbrp = 0, expected more than zero"},
      {{{32, 160, 32, 32}, 1, 8, 40, 8, ratio(3, 2)},
       "CAN FD bit timing: found dbrp = 3/2, expected a whole number of clock "
       "periods"},
      {{{8, 40, 8, 8}, 1, 32, 160, 32, 1},
       "CAN FD bit timing: found data bits of 160 clock periods, expected at "
       "most the nominal bit's 40 (are the phases swapped?)"},
      {{{8, 40, 8, 8}, 4, 3, 40, 8, 1},
       "CAN FD bit timing: found dsjw = 3, expected more than nbrp/dbrp - 1: "
       "the switch of bit rate leaves no tolerance at all"},
  };
  for (const Row& expected : rows) {
    const auto result = can_fd_tolerance(expected.timing);
    INFO(expected.message);
    REQUIRE_FALSE(result.has_value());
    CHECK(result.error().code == ErrorCode::kUsage);
    CHECK(result.error().message == expected.message);
    CHECK_FALSE(result.error().hint.empty());
  }
}

}  // namespace
}  // namespace clockassay
