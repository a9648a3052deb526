// SPDX-License-Identifier: GPL-3.0-or-later
#include "support/drift_bounds.h"

#include <algorithm>
#include <boost/math/distributions/binomial.hpp>

namespace clockassay::testing {
namespace {

// Of all bounds of a run together one in a thousand is broken by chance: some
// 300 of them.
constexpr double kChance = 3e-6;

// Of so many trials the most, and the least, that fall into a chance of p.
int most_of(int trials, double p) {
  const boost::math::binomial law(trials, p);
  int most = trials;
  while (most > 0 && cdf(complement(law, most - 1)) < kChance) --most;
  return most;
}

int least_of(int trials, double p) {
  const boost::math::binomial law(trials, p);
  int least = 0;
  while (least < trials && cdf(law, least) < kChance) ++least;
  return least;
}

// A band misses the truth at any one temperature in 5 % of trials, whatever the
// trouble: of outliers and of ageing, too.
constexpr double kMissing = 0.05;

// Trials that miss at the temperature where most do: of trials rather than of
// temperatures, which are not independent.
int most_missed(const DriftCount& count) {
  return static_cast<int>((1.0 - lowest_share(count)) * count.trials + 0.5);
}

void hold(int found, const char* of, int trials, int least, int most,
          std::vector<std::string>& broken) {
  if (found >= least && found <= most) return;
  broken.push_back(std::to_string(found) + " " + of + " of " +
                   std::to_string(trials) + ", expected " +
                   std::to_string(least) + " to " + std::to_string(most));
}

}  // namespace

std::vector<std::string> broken_bounds(PartScene, Trouble trouble,
                                       const DriftCount& count) {
  std::vector<std::string> broken;
  const int n = count.trials;
  hold(most_missed(count), "bands missed at the worst temperature", n, 0,
       most_of(n, kMissing), broken);
  // At a limit a band counts on one side.
  hold(count.false_pass, "false passes", n, 0, most_of(n, 0.5 * kMissing),
       broken);
  // What is pointwise is compared with the nearest limit over a whole range: a
  // fail where the band misses anywhere near it.
  hold(count.false_fail, "false fails", n, 0, most_of(n, kMissing), broken);
  if (trouble == Trouble::kNone || trouble == Trouble::kHysteresis) {
    // A term that is not there is chosen in 1 % of series for each of two.
    hold(n - count.model_right, "wrong models", n, 0, most_of(n, 0.02), broken);
  }
  return broken;
}

std::vector<std::string> broken_bounds_of_all(Trouble trouble,
                                              const DriftCount& sum) {
  std::vector<std::string> broken;
  const bool plain = trouble == Trouble::kNone;
  // Where nothing is stated as a bound or has to be assumed, as between sweeps
  // a loop that closes and a lag are, and the scatter is no more than is
  // stated, no more than twice as good as 95 %.
  const int n = sum.trials;
  hold(most_missed(sum), "bands missed over all parts", n,
       plain ? least_of(n, 0.025) : 0, most_of(n, kMissing), broken);
  hold(sum.false_pass, "false passes over all parts", n, 0,
       most_of(n, 0.5 * kMissing), broken);
  return broken;
}

}  // namespace clockassay::testing
