// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/plan/capture_width.h"

#include <doctest/doctest.h>

#include <cmath>

#include "clockassay/estimate/student_t.h"
#include "clockassay/uncertainty/budget.h"
#include "support/approx.h"
#include "support/load_vectors.h"

namespace clockassay {
namespace {

using testing::approx;
using testing::check_vector;
using testing::input;
using testing::plan_vector;

constexpr double kPpm = 1e-6;

CaptureSetting setting(double f, double off_ppm, double rate, double time) {
  return {Hertz(f * (1 - off_ppm * kPpm)), Hertz(f * (1 + off_ppm * kPpm)),
          Hertz(rate), Seconds(time)};
}

TEST_CASE("foresee_width: what may lock leaves a sample over the capture") {
  // L7a, derived, exact: 12 MHz, 10 ms, 10 ns: 1 ppm. The capture is taken a
  // cycle longer at each end, 83 ns, and a full turn of the phase is open.
  const auto& row = plan_vector("L7a");
  const double f = input(row, "f");
  const double time = input(row, "T") + 2 / f;
  const CaptureWidth width =
      foresee_width(setting(f, 2e5, 1 / input(row, "Ts"), time));
  CHECK(width.fewest_phases == 1);
  // Of the fastest clock in the band, a period is fewer samples.
  CHECK(width.sampling.value() == testing::approx(1.2 / 0.8).epsilon(1e-3));
  // Locked to a whole number of samples: 10 MHz at 100 MS/s.
  const CaptureWidth locked =
      foresee_width(setting(10e6, 0, 100e6, 0.01 + 0.2e-6));
  CHECK(locked.fewest_phases == 1);
  // A cycle more or less of 100 000.
  CHECK(std::abs(locked.half_width.value() -
                 row["expected"]["worst"]["value"].get<double>()) <= 2e-5);
}

TEST_CASE("cycles_for_width: the vectors of capture times") {
  // L4, derived, exact: Ts/T.
  for (const char* id : {"L4-24", "L4-100", "L4-500"}) {
    const auto& row = plan_vector(id);
    const double rate = input(row, "rate") * 1e6;
    // A clock of 4 samples a period: N cycles are 4 N samples.
    const auto ms = [&](double ppm) {
      return cycles_for_width(Ppm(ppm), 4.0, 0.0) * 4.0 / rate * 1e3;
    };
    check_vector(row, "t100ppm", ms(100));
    check_vector(row, "t20ppm", ms(20));
    check_vector(row, "t1ppm", ms(1));
  }
}

TEST_CASE("foresee_width: fractions of the sample rate lock to their phases") {
  // 750 kHz at 100 MS/s: three periods are 400 samples.
  const CaptureWidth width = foresee_width(setting(750e3, 30, 100e6, 0.01));
  CHECK(width.fewest_phases == 3);
  // Few phases count as one: Ts/T, of 10 ms less two cycles.
  CHECK(width.sampling.value() == testing::approx(1.0).epsilon(1e-3));
  // A band of ±1 % holds whole numbers of samples.
  CHECK(foresee_width(setting(750e3, 1e4, 100e6, 0.01)).fewest_phases == 1);
  // 0.382 of a sample left over a period: 30 ppm hold no simple fraction.
  const double golden = 100e6 / 133.381966;
  CHECK(foresee_width(setting(golden, 30, 100e6, 0.01)).fewest_phases > 5);
}

TEST_CASE("foresee_width: a clock that hardly passes the sampler") {
  // 10.002023 samples a period, 553 cycles: 1.1 samples over the capture.
  const CaptureWidth slow =
      foresee_width(setting(22.197174e6, 0, 222.016638e6, 25e-6));
  CHECK(slow.sampling.value() ==
        approx(1.5e6 / slow.cycles / 10.002023).epsilon(1e-3));
  // Ten times as long it is eleven samples: no longer few.
  const CaptureWidth longer =
      foresee_width(setting(22.197174e6, 0, 222.016638e6, 250e-6));
  CHECK(longer.sampling.value() < 0.05 * slow.sampling.value());
}

TEST_CASE("foresee_width: never narrower for a shorter or slower capture") {
  double last = 1e9;
  for (double time = 1e-4; time < 1.0; time *= 1.7) {
    const CaptureWidth w = foresee_width(setting(1e6, 2e5, 24e6, time));
    CHECK(w.half_width.value() < last);
    last = w.half_width.value();
  }
  // Fewer than three cycles leave everything open.
  CHECK(std::isinf(
      foresee_width(setting(1e6, 10, 24e6, 3e-6)).half_width.value()));
}

TEST_CASE("foresee_width: jitter counts from where it is said to") {
  CaptureSetting s = setting(1e6, 0, 100e6, 1e-2);
  const CaptureWidth none = foresee_width(s);
  CHECK(none.jitter == Ppm(0.0));
  s.jitter = none.jitter_that_counts;
  // There the two are one, but for the sampling that is in jitter's part:
  // sigma would be sqrt(N/12)/z = 14.7 samples, but a tenth of a period is 10.
  const CaptureWidth there = foresee_width(s);
  CHECK(there.jitter < none.sampling);
  // Of 9999 cycles, t of 9997 being 1.960201, with what sampling adds beside
  // it: sigma² = 9999/12/t² - 1/12 = 14.7232².
  s.jitter = Seconds(14.7232e-8);
  CHECK(foresee_width(s).jitter.value() ==
        testing::approx(none.sampling.value()));
}

TEST_CASE("foresee_width: a sample over the capture, in ppm") {
  // Trap X7, a maker's USB questions and answers (read; recomputed): 116.25 ps
  // of 1 ms are 0.11625 ppm, not 116.25. A locked clock, a thousand samples a
  // period; of 8602 cycles one is lost at the ends.
  const auto& trap = testing::plan_trap("X7");
  const double rate = 1.0 / 116.25e-12;
  const CaptureWidth width = foresee_width(setting(rate / 1000, 0, rate, 1e-3));
  const double right = trap["right"]["value"].get<double>();
  CHECK(std::abs(width.half_width.value() / right - 1.0) <= 1.0 / 8000.0 * 2.0);
  CHECK(width.half_width.value() < 0.01 * trap["wrong"]["value"].get<double>());
}

TEST_CASE("foresee_width: an RC oscillator's jitter is below what is seen") {
  // RC1, makers' data sheets (read; recomputed): a quarter of a per cent of
  // 62.5 ns from cycle to cycle, against 18 and 50 ps of crystals.
  const auto& row = plan_vector("RC1");
  const double ps = 1e3 * input(row, "rel") * input(row, "T");
  check_vector(row, "c2c", ps);
  check_vector(row, "over18", ps / 18.0);
  check_vector(row, "over50", ps / 50.0);
  // At 100 MS/s an edge's part of it, c2c/sqrt(6), is 64 ps and does not count:
  // one does not tell an RC oscillator by the jitter of a cycle.
  const double hz = 1e9 / input(row, "T");
  const CaptureWidth width = foresee_width(setting(hz, 0, 100e6, 1e-3));
  CHECK(width.jitter_that_counts.value() > 1e-12 * ps / std::sqrt(6.0));
}

TEST_CASE("foresee_width: what sampling scatters edges and frequency by") {
  // L2, derived, exact: an edge is anywhere within a sample, Ts/sqrt(12).
  const auto& sampled = plan_vector("L2");
  check_vector(sampled, "edge",
               rectangular_line("window", Ppm(0.5 * input(sampled, "Ts")), "")
                   .standard_uncertainty.value());
  for (const char* id : {"L7a", "L7b"}) {
    const auto& row = plan_vector(id);
    const double f = input(row, "f");
    const double time = input(row, "T");
    const double period = 1.0 / (f * input(row, "Ts"));
    // L7, derived, exact: Ts/T, in the width that a length is worked out for.
    check_vector(row, "worst",
                 cycles_for_width(Ppm(1.0), period, 0.0) / (f * time));
    // Least squares of independent edges: the part of jitter where next to none
    // is, as a standard deviation. A cycle is lost to the ends.
    CaptureSetting s = setting(f, 0, 1 / input(row, "Ts"), time + 1.5 / f);
    s.jitter = Seconds(1e-18);
    const CaptureWidth width = foresee_width(s);
    REQUIRE(width.cycles == testing::approx(f * time));
    check_vector(
        row, "lsq",
        width.jitter.value() / student_t_two_sided(0.95, width.cycles - 2.0));
  }
}

TEST_CASE("cycles_for_width: the length of the vectors") {
  // L7a, L7b, derived, exact: Ts/T.
  for (const char* id : {"L7a", "L7b"}) {
    const auto& row = plan_vector(id);
    const double f = input(row, "f");
    const double worst = row["expected"]["worst"]["value"].get<double>();
    const double cycles =
        cycles_for_width(Ppm(worst), 1.0 / (f * input(row, "Ts")), 0.0);
    CHECK(cycles / f == testing::approx(input(row, "T")).epsilon(1e-9));
  }
}

TEST_CASE("foresee_width: where sampling is next to nothing jitter counts") {
  // 125/18 samples a period, within 1/226 of 118/17: seventeen phases. t of 224
  // is 1.9706;
  // (1/17)² 226/12/t² is 0.017, less than the twelfth that sampling has: so a
  // fifth of the gap between the phases, of 4 ns.
  const CaptureWidth width = foresee_width(setting(36e6, 0, 250e6, 6.32e-6));
  REQUIRE(width.cycles == 226.0);
  REQUIRE(width.counted_phases == 17);
  CHECK(width.jitter_that_counts.value() ==
        testing::approx(0.2 / 17.0 * 4e-9).epsilon(1e-9));
}

}  // namespace
}  // namespace clockassay
