// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/estimate/feasible_set.h"

#include <algorithm>
#include <cassert>
#include <cmath>

#include "estimate/hull_chain.h"

namespace clockassay {
namespace {

void keep_larger(std::optional<Fraction>& value, const Fraction& candidate) {
  if (!value || less(*value, candidate)) value = candidate;
}

void keep_smaller(std::optional<Fraction>& value, const Fraction& candidate) {
  if (!value || less(candidate, *value)) value = candidate;
}

OpenInterval intersect(const OpenInterval& a, const OpenInterval& b) {
  OpenInterval both = a;
  if (b.low) keep_larger(both.low, *b.low);
  if (b.high) keep_smaller(both.high, *b.high);
  return both;
}

OpenInterval unite(const OpenInterval& a, const OpenInterval& b) {
  OpenInterval either = a;
  if (b.low) keep_smaller(either.low, *b.low);
  if (b.high) keep_larger(either.high, *b.high);
  return either;
}

bool is_empty(const OpenInterval& i) {
  return i.low && i.high && !less(*i.low, *i.high);
}

/// R(slope) of one polarity as an exact fraction.
Fraction range_at(const PointHulls& hulls, const Fraction& slope) {
  const auto height = [&](const FramePoint& p) {
    return slope.den * p.y - slope.num * p.k;
  };
  Int128 top = height(hulls.upper.front());
  for (const FramePoint& p : hulls.upper) top = std::max(top, height(p));
  Int128 bottom = height(hulls.lower.front());
  for (const FramePoint& p : hulls.lower) bottom = std::min(bottom, height(p));
  return {top - bottom, slope.den};
}

/// Window, in units, one `window` above `range`; rounded up.
std::int64_t widened(const Fraction& range, std::int64_t window_units) {
  const Int128 scaled = range.num * kWindowUnits;
  const Int128 up = (scaled + range.den - 1) / range.den;
  return static_cast<std::int64_t>(up) + window_units;
}

/// One polarity's posterior weight 1 - R/window near a slope, in doubles.
class WindowWeight {
 public:
  WindowWeight(const PointHulls& hulls, const Fraction& origin,
               std::int64_t window_units)
      : window_(static_cast<double>(window_units) / kWindowUnits) {
    const auto offset = [&](const FramePoint& p) {
      const Int128 y = origin.den * p.y - origin.num * p.k;
      return Point{static_cast<double>(p.k),
                   static_cast<double>(static_cast<long double>(y) /
                                       static_cast<long double>(origin.den))};
    };
    for (const FramePoint& p : hulls.upper) upper_.push_back(offset(p));
    for (const FramePoint& p : hulls.lower) lower_.push_back(offset(p));
  }

  /// Where the weight has a kink: the slopes of the hulls' edges.
  void add_kinks(std::vector<double>& kinks) const {
    for (const auto* hull : {&upper_, &lower_}) {
      for (std::size_t i = 1; i < hull->size(); ++i) {
        kinks.push_back(((*hull)[i].y - (*hull)[i - 1].y) /
                        ((*hull)[i].k - (*hull)[i - 1].k));
      }
    }
  }

  double operator()(double x) const {
    double top = upper_.front().y - upper_.front().k * x;
    for (const Point& p : upper_) top = std::max(top, p.y - p.k * x);
    double bottom = lower_.front().y - lower_.front().k * x;
    for (const Point& p : lower_) bottom = std::min(bottom, p.y - p.k * x);
    return std::max(0.0, 1.0 - (top - bottom) / window_);
  }

 private:
  struct Point {
    double k, y;
  };
  double window_;
  std::vector<Point> upper_, lower_;
};

/// Mean of the slope over the set. Between kinks the density is a parabola,
/// and slope times density a cubic, which Simpson's rule integrates exactly.
double mean_over_set(const EdgeHulls& hulls, const SlopeInterval& bounds,
                     std::int64_t window_units) {
  const WindowWeight rise(hulls.rise, bounds.low, window_units);
  std::optional<WindowWeight> fall;
  if (!hulls.fall.upper.empty()) {
    fall.emplace(hulls.fall, bounds.low, window_units);
  }
  const Int128 width_num =
      bounds.high.num * bounds.low.den - bounds.low.num * bounds.high.den;
  const double width =
      static_cast<double>(static_cast<long double>(width_num) /
                          (static_cast<long double>(bounds.high.den) *
                           static_cast<long double>(bounds.low.den)));
  std::vector<double> knots = {0.0, width};
  rise.add_kinks(knots);
  if (fall) fall->add_kinks(knots);
  std::erase_if(knots, [&](double x) { return x < 0.0 || x > width; });
  std::sort(knots.begin(), knots.end());
  const auto density = [&](double x) {
    return rise(x) * (fall ? (*fall)(x) : 1.0);
  };
  double mass = 0.0, moment = 0.0;
  for (std::size_t i = 1; i < knots.size(); ++i) {
    const double a = knots[i - 1], b = knots[i], m = 0.5 * (a + b);
    const double da = density(a), dm = density(m), db = density(b);
    mass += (b - a) * (da + 4.0 * dm + db);
    moment += (b - a) * (a * da + 4.0 * m * dm + b * db);
  }
  const double x = mass > 0.0 ? moment / mass : 0.5 * width;
  return bounds.low.value() + x;
}

/// Middle of the lines of a slope that pass through every window.
double middle_at(const PointHulls& hulls, double slope, double window) {
  const auto height = [&](const FramePoint& p) {
    return static_cast<double>(p.y) - slope * static_cast<double>(p.k);
  };
  double top = height(hulls.upper.front());
  for (const FramePoint& p : hulls.upper) top = std::max(top, height(p));
  double bottom = height(hulls.lower.front());
  for (const FramePoint& p : hulls.lower) bottom = std::min(bottom, height(p));
  return 0.5 * (top + bottom - window);
}

}  // namespace

double Fraction::value() const {
  return static_cast<double>(static_cast<long double>(num) /
                             static_cast<long double>(den));
}

bool less(const Fraction& a, const Fraction& b) {
  return a.num * b.den < b.num * a.den;
}

bool equal(const Fraction& a, const Fraction& b) {
  return a.num * b.den == b.num * a.den;
}

std::optional<SmallestRange> smallest_range(const PointHulls& hulls) {
  // R is convex and piecewise linear: its minimum is at a kink.
  std::optional<SmallestRange> best;
  for (const auto* hull : {&hulls.upper, &hulls.lower}) {
    for (std::size_t i = 1; i < hull->size(); ++i) {
      const FramePoint &a = (*hull)[i - 1], &b = (*hull)[i];
      const Fraction slope{b.y - a.y, b.k - a.k};
      const Fraction range = range_at(hulls, slope);
      if (!best || less(range, best->range)) best = SmallestRange{range, slope};
    }
  }
  return best;
}

OpenInterval slopes_within(const PointHulls& hulls, std::int64_t window_units) {
  OpenInterval interval;
  for (const FramePoint& u : hulls.upper) {
    for (const FramePoint& l : hulls.lower) {
      const Int128 dy = Int128(kWindowUnits) * (l.y - u.y);
      if (u.k < l.k) {
        keep_smaller(interval.high,
                     {dy + window_units, Int128(kWindowUnits) * (l.k - u.k)});
      } else if (l.k < u.k) {
        keep_larger(interval.low,
                    {-dy - window_units, Int128(kWindowUnits) * (u.k - l.k)});
      }
    }
  }
  return interval;
}

FeasibleSet feasible_set_from(const EdgeHulls& hulls,
                              std::int64_t window_units) {
  const auto rise = smallest_range(hulls.rise);
  assert(rise);  // at least two rising edges
  const auto fall = smallest_range(hulls.fall);
  FeasibleSet set;
  set.range = rise->range;
  OpenInterval wide =
      slopes_within(hulls.rise, widened(rise->range, window_units));
  if (fall) {
    if (less(set.range, fall->range)) set.range = fall->range;
    const OpenInterval other =
        slopes_within(hulls.fall, widened(fall->range, window_units));
    const OpenInterval both = intersect(wide, other);
    wide = is_empty(both) ? unite(wide, other) : both;
  }
  set.wide = {*wide.low, *wide.high};

  const Fraction window{window_units, kWindowUnits};
  if (!less(set.range, window)) return set;
  OpenInterval bounds = slopes_within(hulls.rise, window_units);
  if (fall) {
    bounds = intersect(bounds, slopes_within(hulls.fall, window_units));
  }
  if (is_empty(bounds)) return set;
  set.bounds = SlopeInterval{*bounds.low, *bounds.high};
  set.mean_slope = mean_over_set(hulls, *set.bounds, window_units);
  set.rise_middle = middle_at(hulls.rise, *set.mean_slope, window.value());
  if (fall) {
    set.fall_middle = middle_at(hulls.fall, *set.mean_slope, window.value());
  }
  return set;
}

}  // namespace clockassay
