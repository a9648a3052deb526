// SPDX-License-Identifier: GPL-3.0-or-later
// Simulated boards: a crystal with its own offset, capacitors within their
// tolerance, stray, and a measurement with a known distribution. What is
// inferred of the load and predicted of other capacitors against the truth.
#include <doctest/doctest.h>

#include <cmath>
#include <random>

#include "clockassay/oscillator/crystal_load.h"
#include "unit/verdict/clock_under_test.h"
#include "verdict/load_inference.h"

namespace clockassay {
namespace {

struct Kind {
  bool published = true;  // C0 and C1
  double make_ppm = 0.0;
  ErrorDistribution measurement;
  double capacitor_tolerance = 0.05;  // what they truly keep
};

struct Counts {
  int trials = 0;
  int covered = 0;  // the true load in the interval
  int predictions = 0;
  int kept = 0;  // the true error after the exchange as predicted
  /// Further off after the exchange than before, where the prediction promised
  /// less than what was measured.
  int worse_unsaid = 0;
};

class Boards {
 public:
  explicit Boards(unsigned seed) : random_(seed) {}

  void run(const Kind& kind, Counts& counts) {
    const double c1 = 2e-15 * std::pow(15.0, unit());
    const MotionalCrystal crystal{Farads(c1),
                                  Farads(c1 * (180.0 + 320.0 * unit()))};
    const double own_ppm = kind.make_ppm * (2.0 * unit() - 1.0);
    const Stray stray{Farads(0.0), Farads(0.0), Farads(5e-12 * unit())};
    LoadSpec load;
    load.nominal = Farads(1e-12 * std::round(8.0 + 10.0 * unit()));
    const Farads stated(1e-12 * std::round(8.0 + 25.0 * unit()));
    load.capacitors = CapacitorPair{stated, stated};
    if (kind.published) {
      load.c0 = crystal.c0;
      load.c1 = crystal.c1;
    }
    const Farads seen = load_of(fitted(*load.capacitors, kind), stray);
    const double true_ppm = of(crystal, load.nominal, seen, own_ppm);
    MeasuredError error;
    error.distribution = kind.measurement;
    error.expanded_ppm = expanded_half_width(kind.measurement, 0.95);
    error.ppm = true_ppm +
                kind.measurement.rectangle_half_width * (2.0 * unit() - 1.0) +
                kind.measurement.normal_sigma * normal_(random_);
    ToleranceBand make = band_of("1ppb");
    if (kind.make_ppm > 0.0) {
      const auto whole = static_cast<std::int64_t>(kind.make_ppm);
      make = {Rational(-whole), Rational(whole)};
    }
    const LoadInference inferred = infer_load(load, Hertz(24e6), make, error);
    ++counts.trials;
    if (inferred.outcome == LoadOutcome::kNeverTheLoad) return;  // not covered
    counts.covered += inferred.seen_low <= seen &&
                      (!inferred.seen_high || seen <= *inferred.seen_high);
    if (!inferred.fit) return;
    const Farads then = load_of(fitted(inferred.fit->capacitors, kind), stray);
    const double after = of(crystal, load.nominal, then, own_ppm);
    ++counts.predictions;
    counts.kept += inferred.fit->low.value() <= after &&
                   after <= inferred.fit->high.value();
    const double worse_end =
        std::max(-inferred.fit->low.value(), inferred.fit->high.value());
    counts.worse_unsaid +=
        std::abs(after) > std::abs(true_ppm) && worse_end < std::abs(error.ppm);
  }

 private:
  double unit() { return std::uniform_real_distribution<double>()(random_); }

  CapacitorPair fitted(const CapacitorPair& stated, const Kind& kind) {
    const auto off = [&] {
      return 1.0 + kind.capacitor_tolerance * (2.0 * unit() - 1.0);
    };
    const double a = off();
    return {a * stated.a, off() * stated.b};
  }

  // The frequency itself, not through load_pull().
  static double of(const MotionalCrystal& crystal, Farads nominal, Farads load,
                   double own_ppm) {
    return ((1.0 + own_ppm * 1e-6) * load_resonance(crystal, load) /
                load_resonance(crystal, nominal) -
            1.0) *
           1e6;
  }

  std::mt19937_64 random_;
  std::normal_distribution<double> normal_;
};

Counts count_over(const Kind& kind, int trials, unsigned seed) {
  Boards boards(seed);
  Counts counts;
  for (int i = 0; i < trials; ++i) boards.run(kind, counts);
  MESSAGE("seed " << seed << ": load covered " << counts.covered << " of "
                  << counts.trials << ", prediction kept " << counts.kept
                  << " of " << counts.predictions
                  << ", worse after and not said to be "
                  << counts.worse_unsaid);
  return counts;
}

// Four standard deviations below 95 % of n.
int least_of(int n) {
  return static_cast<int>(0.95 * n - 4.0 * std::sqrt(n * 0.95 * 0.05));
}

// Four standard deviations above 5 %: what is worse all the same lies outside
// its interval, or seemed to be further off than it was.
int most_outside(int n) {
  return static_cast<int>(0.05 * n + 4.0 * std::sqrt(n * 0.95 * 0.05));
}

TEST_CASE("infer_load: covers the true load as often as U does") {
  // Nothing open but the measurement: 95 %, not less and not more.
  const int n = 2000;
  for (const ErrorDistribution& d :
       {ErrorDistribution{5.0, 0.0}, ErrorDistribution{0.0, 2.0},
        ErrorDistribution{3.0, 2.0}}) {
    const Counts counts = count_over({true, 0.0, d, 0.0}, n, 1);
    CHECK(counts.covered >= least_of(n));
    CHECK(counts.covered <=
          static_cast<int>(0.95 * n + 4.0 * std::sqrt(n * 0.95 * 0.05)));
  }
}

TEST_CASE("infer_load: the crystal's own tolerance is counted in full") {
  const int n = 1000;
  const Counts counts = count_over({true, 20.0, {2.0, 0.5}, 0.05}, n, 2);
  CHECK(counts.covered >= least_of(n));
}

TEST_CASE("infer_load: assumed C0 and C1 cover all they may be") {
  const int n = 300;
  const Counts counts = count_over({false, 10.0, {2.0, 0.5}, 0.05}, n, 3);
  CHECK(counts.covered >= least_of(n));
  CHECK(counts.predictions >= n / 3);
  CHECK(counts.kept >= least_of(counts.predictions));
  CHECK(counts.worse_unsaid <= most_outside(counts.predictions));
}

TEST_CASE("infer_load: other capacitors do what is predicted of them") {
  const int n = 2000;
  // Capacitors within their 5 % and a measurement: 95 %, and as four
  // rectangles are narrower than the normal they are taken for, and the slope
  // is taken on its steep side, somewhat more; but no more than 99 %.
  const Counts counts = count_over({true, 0.0, {1.0, 0.5}, 0.05}, n, 4);
  CHECK(counts.predictions >= n / 2);
  CHECK(counts.kept >= least_of(counts.predictions));
  CHECK(counts.kept <= 0.99 * counts.predictions);
  CHECK(counts.worse_unsaid <= most_outside(counts.predictions));
  // With a crystal that is off itself, at least that.
  const Counts off = count_over({true, 20.0, {2.0, 0.5}, 0.05}, n, 5);
  CHECK(off.kept >= least_of(off.predictions));
  CHECK(off.worse_unsaid <= most_outside(off.predictions));
}

}  // namespace
}  // namespace clockassay
