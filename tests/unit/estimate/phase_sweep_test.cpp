// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/phase_sweep.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <random>
#include <vector>

#include "base/simd_level.h"
#include "clockassay/base/parallel.h"
#include "support/approx.h"
#include "support/simd_levels.h"
#include "support/two_threads.h"

using namespace clockassay;

namespace {

constexpr double kMissing = std::numeric_limits<double>::quiet_NaN();

PhaseSource source_of(const std::vector<double>& x) {
  return {static_cast<std::int64_t>(x.size()),
          [&x](std::int64_t at, std::span<double> out) {
            std::copy_n(x.begin() + at, out.size(), out.begin());
          }};
}

/// White phases on a walk, some missing.
std::vector<double> phases(std::size_t n, bool gaps, std::uint64_t seed) {
  std::mt19937_64 random(seed);
  std::normal_distribution<double> normal;
  std::vector<double> x(n);
  double walk = 0.0;
  for (double& v : x) v = (walk += 0.1 * normal(random)) + normal(random);
  if (gaps) {
    for (std::size_t i = 500; i < n; i += 997) x[i] = kMissing;
  }
  return x;
}

std::vector<std::int64_t> octaves(std::int64_t most) {
  std::vector<std::int64_t> m;
  for (std::int64_t i = 1; i <= most; i *= 2) m.push_back(i);
  return m;
}

/// The terms of m that begin at every D-th phase, by looking at each.
DeviationTerms by_hand(const std::vector<double>& x, PlannedTau tau) {
  DeviationTerms out;
  const auto m = static_cast<std::size_t>(tau.m);
  const auto d = static_cast<std::size_t>(tau.decimation);
  const auto add = [](TermSum& sum, double term) {
    if (!std::isnan(term)) sum.add({term * term, 1});
  };
  for (std::size_t i = 0; i < x.size(); i += d) {
    if (i + m < x.size()) add(out.interval, x[i + m] - x[i]);
    if (i + 2 * m < x.size()) {
      add(out.allan, x[i + 2 * m] - 2 * x[i + m] + x[i]);
    }
    if (i + 3 * m < x.size()) {
      add(out.hadamard, x[i + 3 * m] - 3 * x[i + 2 * m] + 3 * x[i + m] - x[i]);
    }
    if (i + 3 * m <= x.size()) {
      double sum = 0.0;
      for (std::size_t j = i; j < i + m; ++j) {
        sum += x[j + 2 * m] - 2 * x[j + m] + x[j];
      }
      add(out.modified, sum / static_cast<double>(d));
    }
    if (i + m < x.size()) {
      double low = 1e300, high = -1e300;
      for (std::size_t j = i; j <= i + m; ++j) {
        if (std::isnan(x[j])) continue;
        low = std::min(low, x[j]);
        high = std::max(high, x[j]);
      }
      out.range = std::max(out.range.value_or(0.0), high - low);
    }
  }
  return out;
}

void check_same(const TermSum& a, const TermSum& b) {
  CHECK(a.n == b.n);
  // Roundings of running sums of 20000 phases; of no terms, nothing.
  CHECK(testing::within(a.squares, b.squares, 1e-9 * b.squares));
}

bool same_bits(const PhaseSweep& a, const PhaseSweep& b) {
  const auto same = [](const TermSum& s, const TermSum& t) {
    return s.n == t.n && s.squares == t.squares;
  };
  return a.terms.size() == b.terms.size() &&
         std::equal(a.terms.begin(), a.terms.end(), b.terms.begin(),
                    [&](const DeviationTerms& s, const DeviationTerms& t) {
                      return same(s.interval, t.interval) &&
                             same(s.allan, t.allan) &&
                             same(s.modified, t.modified) &&
                             same(s.hadamard, t.hadamard) && s.range == t.range;
                    });
}

/// Small ones, so that few phases are many parts.
constexpr SweepLimits kSmall{1024, 4, 64};

}  // namespace

TEST_CASE("plan_sweep: what fits is held as it is, and nothing is rounded") {
  const SweepPlan plan = plan_sweep(1'000'000, {7, 3, 7, 250'000}, 250'000);
  CHECK(plan.held_step == 1);
  CHECK(plan.in_parts == 0);
  CHECK(plan.taus == std::vector<PlannedTau>{{3, 1}, {7, 1}, {250'000, 1}});
}

TEST_CASE("plan_sweep: of 10^8 cycles every tau keeps 32 steps or more") {
  const std::int64_t count = 100'000'000, most = count / 4;
  const SweepPlan plan = plan_sweep(count, octaves(most), most);
  CHECK(plan.held_step == 128);
  for (const PlannedTau& tau : plan.taus) {
    CAPTURE(tau.m);
    CHECK(tau.decimation ==
          std::clamp<std::int64_t>(tau.m / 32, 1, plan.held_step));
    CHECK(tau.m % tau.decimation == 0);
  }
  CHECK(plan.in_parts == 12);  // 1 ... 2048
  // A part holds what its terms reach, and both are whole cells.
  CHECK(plan.overlap >= 3 * 2048 + 1);
  CHECK(plan.part >= 4 * plan.overlap);
  CHECK(plan.part % plan.held_step == 0);
}

TEST_CASE("plan_sweep: other tau are exact while short, then whole cells") {
  const std::int64_t count = 100'000'000, most = 1'000'003;
  const SweepPlan plan =
      plan_sweep(count, {4095, 4000, 1'000'001, 1'000'002, 1'000'003}, most);
  // 4000 = 32 * 125; 4095 is odd; 128 * 7813 = 1000064 is too long.
  CHECK(plan.taus ==
        std::vector<PlannedTau>{{4000, 32}, {4095, 1}, {128 * 7812, 128}});
  CHECK(plan.in_parts == 2);
}

TEST_CASE("sweep_phases: the terms are those that begin at every D-th phase") {
  for (const bool gaps : {false, true}) {
    for (const std::size_t n : {1025u, 5000u, 20000u, 20479u, 20481u}) {
      constexpr std::uint64_t kSeed = 421;
      INFO("seed ", kSeed);
      const std::vector<double> x = phases(n, gaps, kSeed);
      const auto most = static_cast<std::int64_t>(n - 1) / 4;
      std::vector<std::int64_t> factors = octaves(most);
      factors.insert(factors.end(), {3, 12, 37, 100, most});
      const SweepPlan plan =
          plan_sweep(static_cast<std::int64_t>(n), factors, most, kSmall);
      CHECK(plan.held_step > 1);
      const PhaseSweep sweep = sweep_phases(source_of(x), plan, serial_for);
      for (std::size_t i = 0; i < plan.taus.size(); ++i) {
        CAPTURE(n);
        CAPTURE(gaps);
        CAPTURE(plan.taus[i].m);
        CAPTURE(plan.taus[i].decimation);
        const DeviationTerms hand = by_hand(x, plan.taus[i]);
        check_same(sweep.terms[i].interval, hand.interval);
        check_same(sweep.terms[i].allan, hand.allan);
        check_same(sweep.terms[i].hadamard, hand.hadamard);
        check_same(sweep.terms[i].modified, hand.modified);
        CHECK(sweep.terms[i].range == hand.range);
      }
    }
  }
}

TEST_CASE("sweep_phases: whole or in parts, the terms at D = 1 are the same") {
  constexpr std::uint64_t kSeed = 422;
  INFO("seed ", kSeed);
  const std::vector<double> x = phases(9001, true, kSeed);
  const auto n = static_cast<std::int64_t>(x.size());
  const std::vector<std::int64_t> factors = {1, 2, 3, 5, 7, 31};
  const SweepPlan parts = plan_sweep(n, factors, 2250, kSmall);
  const SweepPlan whole = plan_sweep(n, factors, 2250);
  REQUIRE(parts.in_parts == factors.size());
  REQUIRE(whole.in_parts == 0);
  const PhaseSweep a = sweep_phases(source_of(x), parts, serial_for);
  const PhaseSweep b = sweep_phases(source_of(x), whole, serial_for);
  for (std::size_t i = 0; i < factors.size(); ++i) {
    CAPTURE(factors[i]);
    check_same(a.terms[i].interval, b.terms[i].interval);
    check_same(a.terms[i].allan, b.terms[i].allan);
    check_same(a.terms[i].modified, b.terms[i].modified);
    check_same(a.terms[i].hadamard, b.terms[i].hadamard);
    CHECK(a.terms[i].range == b.terms[i].range);
  }
}

TEST_CASE("sweep_phases: the same bits for any threads and any kernels") {
  constexpr std::uint64_t kSeed = 423;
  INFO("seed ", kSeed);
  const std::vector<double> x = phases(30011, true, kSeed);
  const auto n = static_cast<std::int64_t>(x.size());
  for (const SweepLimits& limits : {kSmall, SweepLimits{}}) {
    const SweepPlan plan = plan_sweep(n, octaves(n / 4), n / 4, limits);
    const PhaseSweep serial = sweep_phases(source_of(x), plan, serial_for);
    const PhaseSweep threads = sweep_phases(source_of(x), plan, two_threads);
    CHECK(same_bits(serial, threads));
    CHECK(serial.held.size() == threads.held.size());
    test::at_each_simd_level([&] {
      CHECK(same_bits(serial, sweep_phases(source_of(x), plan, serial_for)));
    });
  }
}

TEST_CASE("sweep_phases: fewer windows lose little of the widest range") {
  // Every window of m + 1 phases lies in one of m + D + 1 that begins at a
  // D-th: the range is between those of the whole series at m and m - D.
  constexpr std::uint64_t kSeed = 424;
  INFO("seed ", kSeed);
  const std::vector<double> x = phases(20000, false, kSeed);
  const SweepPlan plan = plan_sweep(20000, octaves(4999), 4999, kSmall);
  const PhaseSweep sweep = sweep_phases(source_of(x), plan, serial_for);
  for (std::size_t i = 0; i < plan.taus.size(); ++i) {
    CAPTURE(plan.taus[i].m);
    const auto [m, step] = plan.taus[i];
    CHECK(*sweep.terms[i].range <= *by_hand(x, {m, 1}).range);
    if (m == step) continue;
    CHECK(*sweep.terms[i].range >= *by_hand(x, {m - step, 1}).range);
  }
}
