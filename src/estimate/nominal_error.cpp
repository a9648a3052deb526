// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/estimate/nominal_error.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <optional>
#include <vector>

#include "clockassay/estimate/edge_line.h"
#include "estimate/frame_block.h"
#include "estimate/steady_sums.h"

namespace clockassay {
namespace {

constexpr double kPpm = 1e-6;
constexpr double kInfinity = std::numeric_limits<double>::infinity();

/// 1 / (frequency tick) - period, exact where its parts can be written so.
double exact_slope(const Rational& frequency_hz, const Rational& tick_s,
                   std::int64_t period) {
  const auto rate = multiply(frequency_hz, tick_s);
  const auto nominal = rate ? divide(Rational(1), *rate) : std::nullopt;
  const auto rest =
      nominal ? subtract(*nominal, Rational(period)) : std::nullopt;
  if (rest) return rest->to_double();
  return 1.0 / (frequency_hz.to_double() * tick_s.to_double()) -
         static_cast<double>(period);
}

/// About the line of the rising edges alone, whose residuals their places do
/// not share, squares add.
double rms_about_mean(const LineSums& rise, double slope) {
  const auto line = fit_line(rise, {});
  if (!line) return 0.0;
  const double off = slope - line->slope;
  const double squares =
      line->residual_squares + off * off / line->slope_variance;
  return std::sqrt(squares / static_cast<double>(rise.n));
}

/// Where the highest error is looked for, and the lowest with sign -1.
class Search {
 public:
  Search(const ViewExtremes& extremes, double slope, double sign)
      : turn_(slope - extremes.slope), sign_(sign) {
    double reach = 0.0, surely = -kInfinity;
    for (const BlockExtremes& block : extremes.blocks) {
      const LineExtremes& e = block.rise;
      if (!e.any) continue;
      reach = std::max(reach, std::abs(e.middle) + e.reach);
      surely = std::max(surely, middle_of(e) - spread_of(e));
    }
    // At most four roundings of numbers below that, with room.
    constexpr double kRoundings = 16.0;
    limit_ = surely - 2.0 * extremes.rounding -
             kRoundings * std::numeric_limits<double>::epsilon() * reach *
                 std::abs(turn_);
  }
  bool may_hold(const LineExtremes& e) const {
    return e.any && middle_of(e) + spread_of(e) >= limit_;
  }

 private:
  /// The edge that is highest about the other line, were it in the middle.
  double middle_of(const LineExtremes& e) const {
    return sign_ * ((sign_ > 0.0 ? e.top : e.bottom) - turn_ * e.middle);
  }
  double spread_of(const LineExtremes& e) const {
    return std::abs(turn_) * e.reach;
  }

  double turn_, sign_;
  double limit_ = 0.0;
};

double range_of(const EdgeView& view, const EdgeFrame& frame,
                const ViewExtremes& extremes, double slope,
                const ParallelFor& parallel_for) {
  const Search up(extremes, slope, 1.0), down(extremes, slope, -1.0);
  std::vector<std::size_t> open;
  for (std::size_t i = 0; i < extremes.blocks.size(); ++i) {
    const LineExtremes& rise = extremes.blocks[i].rise;
    if (up.may_hold(rise) || down.may_hold(rise)) open.push_back(i);
  }
  std::vector<OffsetRange> ranges(open.size());
  parallel_for(open.size(), [&](std::size_t i) {
    FrameBlock block;
    block.read(view, open[i], frame);
    block.visit([&](const auto& rise, const auto&) {
      ranges[i] = range_along(rise, slope);
    });
  });
  double low = kInfinity, high = -kInfinity;
  for (const OffsetRange& r : ranges) {
    low = std::min(low, r.low);
    high = std::max(high, r.high);
  }
  return high - low;
}

}  // namespace

double nominal_slope(const NominalClock& nominal, const Rational& tick_s,
                     const EdgeFrame& frame) {
  const double slope = exact_slope(nominal.frequency_hz, tick_s, frame.period);
  const double offset = nominal.timebase_offset.value() * kPpm;
  return slope + offset * (static_cast<double>(frame.period) + slope);
}

NominalError find_nominal_error(const EdgeView& view, const EdgeSums& sums,
                                const ViewExtremes& extremes, double slope,
                                const ParallelFor& parallel_for) {
  return {rms_about_mean(sums.rise, slope),
          range_of(view, sums.frame, extremes, slope, parallel_for)};
}

}  // namespace clockassay
