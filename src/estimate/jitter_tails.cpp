// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/jitter_tails.h"

#include <algorithm>
#include <boost/math/distributions/poisson.hpp>
#include <cmath>
#include <cstddef>

#include "clockassay/estimate/seen_length.h"

namespace clockassay {
namespace {

// How many periods are one, two, three … windows and more from the median, to
// one side.
using Counts = std::vector<double>;

Counts counts_of(const std::vector<std::int64_t>& periods, std::int64_t middle,
                 double window, double side) {
  Counts counts;
  for (const std::int64_t p : periods) {
    const double off = side * static_cast<double>(p - middle) / window;
    const auto windows = static_cast<std::size_t>(std::max(0.0, off + 0.5));
    // Farther than any jitter of this kind: the last that is counted.
    constexpr std::size_t kFarthest = 64;
    const std::size_t upto = std::min(windows, kFarthest);
    if (counts.size() < upto) counts.resize(upto, 0.0);
    for (std::size_t k = 0; k < upto; ++k) ++counts[k];
  }
  return counts;
}

double at(const Counts& counts, std::size_t k) {
  return k < counts.size() ? counts[k] : 0.0;
}

// The mean is that many windows nearer to the side looked at.
struct Model {
  double nearer = 0.0;
  double sigma = 0.0;  // [windows]

  double chance_from(std::size_t windows, double side) const {
    return chance_seen_off(static_cast<double>(windows) - side * nearer, sigma);
  }
};

// Of a number with that mean, up to what no model changes.
double log_likelihood(double count, double mean) {
  constexpr double kNone = 1e-12;
  return count * std::log(std::max(mean, kNone)) - mean;
}

// Of exactly one, of exactly two, and of three windows and more.
double log_likelihood(const Model& model, const Counts& counts, double all) {
  double sum = 0.0;
  double left = all * model.chance_from(1, 1.0);
  for (std::size_t k = 0; k < 3; ++k) {
    const double beyond = k < 2 ? all * model.chance_from(k + 2, 1.0) : 0.0;
    const double count = at(counts, k) - (k < 2 ? at(counts, k + 1) : 0.0);
    sum += log_likelihood(count, left - beyond);
    left = beyond;
  }
  return sum;
}

struct Fitted {
  Model model;
  double log_likelihood = 0.0;
};

std::vector<Fitted> models_of(const Counts& counts, double all) {
  // Half of the periods and more are within a window up to 0.75.
  constexpr int kSigmas = 48;
  constexpr double kSmallest = 0.02;
  constexpr double kLargest = 0.9;
  constexpr int kMeans = 40;
  std::vector<Fitted> models;
  for (int i = 0; i <= kSigmas; ++i) {
    const double sigma =
        kSmallest * std::pow(kLargest / kSmallest, double(i) / kSigmas);
    for (int j = 0; j <= kMeans; ++j) {
      const Model model{-0.5 + double(j) / kMeans, sigma};
      models.push_back({model, log_likelihood(model, counts, all)});
    }
  }
  const auto best =
      std::max_element(models.begin(), models.end(),
                       [](const Fitted& a, const Fitted& b) {
                         return a.log_likelihood < b.log_likelihood;
                       })
          ->log_likelihood;
  constexpr double kWithin = 2.0;
  std::erase_if(models, [best](const Fitted& m) {
    return m.log_likelihood < best - kWithin;
  });
  return models;
}

// By what the other side shows.
bool is_of_jitter(const Counts& side, const Counts& other, double all) {
  constexpr std::size_t kOff = 3;
  constexpr double kChance = 0.01;
  if (side.size() < kOff) return true;
  const std::vector<Fitted> models = models_of(other, all);
  for (std::size_t k = kOff; k <= side.size(); ++k) {
    double most = 0.0;
    for (const Fitted& m : models) {
      most = std::max(most, all * m.model.chance_from(k, -1.0));
    }
    // One that hardly can be there at all is not there.
    if (!(most > kChance)) return false;
    const boost::math::poisson_distribution<double> number(most);
    const double fewer = at(side, k - 1) - 1.0;
    if (boost::math::cdf(boost::math::complement(number, fewer)) < kChance) {
      return false;
    }
  }
  return true;
}

}  // namespace

bool are_of_jitter(const std::vector<std::int64_t>& periods,
                   std::int64_t middle, double window_ticks) {
  const auto all = static_cast<double>(periods.size());
  const Counts longer = counts_of(periods, middle, window_ticks, 1.0);
  const Counts shorter = counts_of(periods, middle, window_ticks, -1.0);
  return is_of_jitter(longer, shorter, all) &&
         is_of_jitter(shorter, longer, all);
}

}  // namespace clockassay
