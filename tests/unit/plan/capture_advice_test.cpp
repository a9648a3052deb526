// SPDX-License-Identifier: GPL-3.0-or-later
// What a plan says would help.
#include <doctest/doctest.h>

#include <random>
#include <string>

#include "clockassay/plan/capture_plan.h"
#include "support/approx.h"
#include "unit/plan/questions.h"

namespace clockassay {
namespace {

using testing::asked;
using testing::state;

TEST_CASE("plan_capture: no length is named where none helps") {
  // 100 ppm assumed.
  CapturePlanInput in = asked("12MHz", "30ppm", 100'000'000);
  CHECK_FALSE(plan_capture(in).length_helps());
  // Two samples a period, with a timebase that would do.
  state(in, 5.0);
  in.sample_rate_hz = Rational(24'000'000);
  CHECK_FALSE(plan_capture(in).length_helps());
  // An alias: 60 MHz at 50 MS/s.
  CapturePlanInput alias = asked("60MHz / 6", "100ppm", 50'000'000);
  state(alias, 5.0);
  CHECK_FALSE(plan_capture(alias).length_helps());
  // A reference that is not seen.
  CapturePlanInput fast = asked("12MHz", "30ppm", 100'000'000);
  fast.reference_tolerance = Ppm(0.1);
  fast.reference_hz = Rational(50'000'000);
  CHECK_FALSE(plan_capture(fast).length_helps());
  // One too slow for the length helps by its own length.
  fast.reference_hz = Rational(1);
  fast.duration = Seconds(3.0);
  const CapturePlan slow = plan_capture(fast);
  CHECK_FALSE(slow.decidable);
  REQUIRE(slow.needed);
  CHECK(slow.needed->duration >= Seconds(6.0));
  // Jitter: at any length some period is off.
  CapturePlanInput jitter = asked("24MHz", "30ppm", 100'000'000);
  state(jitter, 5.0);
  jitter.jitter = Seconds(5e-9);
  CHECK_FALSE(plan_capture(jitter).length_helps());
  // Too short, where more would do.
  CapturePlanInput brief = asked("12MHz", "3ppm", 100'000'000);
  state(brief, 0.5);
  brief.duration = Seconds(1e-3);
  const CapturePlan too_short = plan_capture(brief);
  CHECK_FALSE(too_short.decidable);
  CHECK(too_short.length_helps());
  brief.duration = too_short.needed->duration;
  CHECK(plan_capture(brief).decidable);
}

TEST_CASE("plan_capture: a better rate is better for the reference too") {
  // Alone 125 MS/s take 12 MHz from three phases to twelve; a reference of
  // unknown frequency may lock there as well, and leaves Ts/T.
  CapturePlanInput in = asked("12MHz", "3ppm", 100'000'000);
  state(in, 0.1);
  in.duration = Seconds(3e-3);
  REQUIRE(plan_capture(in).better_rate_hz);
  in.reference_tolerance = Ppm(0.1);
  CHECK_FALSE(plan_capture(in).better_rate_hz);
  CHECK_FALSE(plan_capture(in).even_rate);
  // What is named halves what both leave: of clocks that hardly pass the
  // sampler, about ten samples a period.
  const unsigned seed = 77;
  CAPTURE(seed);
  std::mt19937_64 random(seed);
  int named = 0;
  for (int i = 0; i < 300; ++i) {
    const int hz = 9'990'000 + static_cast<int>(random() % 20'000);
    CAPTURE(hz);
    CapturePlanInput any =
        asked(std::to_string(hz) + "Hz", "3ppm", 100'000'000);
    state(any, 0.1);
    any.reference_tolerance = Ppm(0.01);
    if (i % 2 == 0) any.reference_hz = Rational(1'000'000);
    any.duration = Seconds(56e-6);
    const CapturePlan plan = plan_capture(any);
    if (!plan.better_rate_hz) continue;
    ++named;
    any.sample_rate_hz = *plan.better_rate_hz;
    CHECK(plan_capture(any).capture_U.value() ==
          testing::approx(plan.better_U->value()));
    CHECK(*plan.better_U <= 0.5 * plan.capture_U);
  }
  CHECK(named > 0);
}

TEST_CASE("plan_capture: a reference tells an alias that a timebase does not") {
  // 60 MHz / 6 at 50 MS/s: 60 MHz is seen at 60 - 50 (1 + d). An instrument off
  // by 100 ppm shows it 5 kHz off, more than 30 ppm of 60 MHz, 1.8 kHz, and a
  // reference says by how much the instrument is off.
  CapturePlanInput in = asked("60MHz / 6", "30ppm", 50'000'000);
  state(in, 100.0);
  CHECK(plan_capture(in).alias->always);
  in.reference_tolerance = Ppm(0.1);
  const CapturePlan plan = plan_capture(in);
  REQUIRE(plan.alias);
  CHECK_FALSE(plan.alias->always);
  CHECK_FALSE(plan.zones.sure_pass);
  // An instrument that is right to 1 ppm shows it within the limits.
  state(in, 1.0);
  CHECK(plan_capture(in).alias->always);
}

}  // namespace
}  // namespace clockassay
