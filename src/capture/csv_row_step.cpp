// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/csv_row_step.h"

#include <algorithm>
#include <map>
#include <vector>

#include "capture/power_of_ten.h"

namespace clockassay {
namespace {

// Share of the steps that may be gaps: one in this many. Chosen: more is no
// constant step any more.
constexpr std::size_t kStepsPerGap = 8;

// Rows it takes to see an interval that is no whole number of steps of the
// text. Chosen: fewer steps of two neighbouring lengths are soon met by chance.
constexpr std::size_t kFewestUneven = 8;

// Largest time, and count of rows, with which products stay within 128 bits.
constexpr std::int64_t kMostSpan = std::int64_t{1} << 60;

Int128 floor_div(Int128 a, Int128 b) {  // b > 0
  const Int128 q = a / b;
  return a % b < 0 ? q - 1 : q;
}

// num / den with den > 0: a slope [ticks per row].
struct Slope {
  Int128 num;
  Int128 den;
};

// Times of rows without a gap between.
struct Segment {
  std::size_t begin;
  std::size_t end;
};

// Least of (t[j] - t[i] + slack) / (j - i) over all i < j of a segment, found
// by going from each slope to that of the pair which undercuts it the most.
Slope least_slope(std::span<const std::int64_t> t,
                  const std::vector<Segment>& segments, std::int64_t slack,
                  Slope slope) {
  while (true) {
    Int128 best = 0;
    Slope better = slope;
    for (const Segment& s : segments) {
      // Of i: that with the largest t[i] - slope * i.
      std::size_t i = s.begin;
      const auto height = [&](std::size_t k) {
        return slope.den * (t[k] - t[s.begin]) -
               slope.num * static_cast<Int128>(k - s.begin);
      };
      for (std::size_t j = s.begin + 1; j < s.end; ++j) {
        if (height(j - 1) > height(i)) i = j - 1;
        const Int128 over = height(j) - height(i) + slope.den * slack;
        if (over >= best) continue;
        best = over;
        better = {static_cast<Int128>(t[j] - t[i] + slack),
                  static_cast<Int128>(j - i)};
      }
    }
    if (best == 0) return slope;
    slope = better;
  }
}

// The number with the fewest significant decimal digits strictly between two
// positive numbers; of several the one nearest to the middle.
std::optional<Rational> roundest(const Rational& low, const Rational& high) {
  const auto sum = add(low, high);
  const auto middle = sum ? divide(*sum, Rational(2)) : std::nullopt;
  if (!middle) return std::nullopt;
  for (int place = 18; place >= -18; --place) {
    const auto scaled = multiply(*middle, power_of_ten(-place));
    if (!scaled) continue;
    const Int128 nearest =
        floor_div(2 * scaled->num() + scaled->den(), 2 * scaled->den());
    if (nearest <= 0 || nearest > kMostSpan) continue;
    const auto value = multiply(Rational(static_cast<std::int64_t>(nearest)),
                                power_of_ten(place));
    if (value && *value > low && *value < high) return value;
  }
  return std::nullopt;
}

// Significant digits of a decimal number.
int digits_of(const Rational& value) {
  Int128 num = value.num();
  Int128 den = value.den();
  for (int i = 0; i < 36 && den != 1; ++i) {
    const auto times_ten = Rational::make(num * 10, den);
    if (!times_ten || num > (Int128{1} << 120)) return 99;
    num = times_ten->num();
    den = times_ten->den();
  }
  while (num != 0 && num % 10 == 0) num /= 10;
  int digits = 0;
  for (; num != 0; num /= 10) ++digits;
  return digits;
}

// The roundest interval, or that of the roundest rate, between two [ticks].
std::optional<Rational> round_interval(const Rational& low,
                                       const Rational& high,
                                       const Rational& tick_s) {
  const auto low_s = multiply(low, tick_s);
  const auto high_s = multiply(high, tick_s);
  if (!low_s || !high_s || low_s->sign() <= 0) return std::nullopt;
  const auto interval_s = roundest(*low_s, *high_s);
  const auto low_hz = divide(Rational(1), *high_s);
  const auto high_hz = divide(Rational(1), *low_s);
  const auto rate_hz =
      low_hz && high_hz ? roundest(*low_hz, *high_hz) : std::nullopt;
  const bool by_rate =
      rate_hz && (!interval_s || digits_of(*rate_hz) <= digits_of(*interval_s));
  const auto chosen_s = by_rate ? divide(Rational(1), *rate_hz) : interval_s;
  return chosen_s ? divide(*chosen_s, tick_s) : std::nullopt;
}

// The step there is most often.
std::int64_t usual_step(std::span<const std::int64_t> times) {
  std::map<std::int64_t, std::size_t> counts;
  for (std::size_t i = 1; i < times.size(); ++i) {
    ++counts[times[i] - times[i - 1]];
  }
  return std::max_element(
             counts.begin(), counts.end(),
             [](const auto& a, const auto& b) { return a.second < b.second; })
      ->first;
}

// Whether all steps are those of samples, few of them gaps.
std::optional<RowStepFit> checked(std::span<const std::int64_t> times,
                                  RowStepFit fit) {
  for (std::size_t i = 1; i < times.size(); ++i) {
    const auto samples = fit.step.samples(times[i] - times[i - 1]);
    if (!samples) return std::nullopt;
    if (*samples > 1) ++fit.gaps;
  }
  const auto most = std::max<std::size_t>(1, times.size() / kStepsPerGap);
  const bool few =
      fit.gaps == 0 || (times.size() > 2 * kStepsPerGap / 3 &&
                        static_cast<std::size_t>(fit.gaps) <= most);
  return few ? std::optional<RowStepFit>(fit) : std::nullopt;
}

// Whether steps of another length than the usual, and no gaps, come more than
// once: a single one may be the end of the capture, or damage.
bool vary(std::span<const std::int64_t> times, std::int64_t usual,
          std::int64_t resolution) {
  int others = 0;
  for (std::size_t i = 1; i < times.size(); ++i) {
    const std::int64_t step = times[i] - times[i - 1];
    if (step != usual && step <= usual + 2 * resolution) ++others;
  }
  return others >= 2;
}

std::optional<RowStepFit> fit_uneven(std::span<const std::int64_t> times,
                                     std::int64_t usual,
                                     std::int64_t resolution,
                                     const Rational& tick_s) {
  if (times.size() < kFewestUneven ||
      times.back() - times.front() > kMostSpan ||
      times.back() - times.front() < 4 * resolution ||
      !vary(times, usual, resolution)) {
    return std::nullopt;
  }
  std::vector<Segment> segments;
  std::size_t begin = 0;
  for (std::size_t i = 1; i <= times.size(); ++i) {
    const bool ends = i == times.size() || 2 * (times[i] - times[i - 1]) >
                                               3 * usual + 2 * resolution;
    if (!ends) continue;
    segments.push_back({begin, i});
    begin = i;
  }
  const Slope start{static_cast<Int128>(usual) + Int128{2} * resolution, 1};
  const Slope high = least_slope(times, segments, resolution, start);
  // Downward the largest slope becomes the least one.
  std::vector<std::int64_t> mirrored(times.begin(), times.end());
  for (std::int64_t& t : mirrored) t = -t;
  const Slope low =
      least_slope(mirrored, segments, resolution,
                  {-std::max<Int128>(
                       0, static_cast<Int128>(usual) - Int128{2} * resolution),
                   1});
  const auto least = Rational::make(-low.num, low.den);
  const auto most = Rational::make(high.num, high.den);
  if (!least || !most || *least >= *most || most->sign() <= 0) {
    return std::nullopt;
  }
  const Rational from = least->sign() > 0
                            ? *least
                            : *Rational::make(most->num(), 2 * most->den());
  if (from >= *most) return std::nullopt;
  const auto interval = round_interval(from, *most, tick_s);
  if (!interval) return std::nullopt;
  return checked(times, {CsvRowStep(*interval, resolution), 0, from, *most});
}

}  // namespace

CsvRowStep::CsvRowStep(const Rational& interval, std::int64_t slack)
    : interval_(interval), slack_(slack) {
  // The whole numbers strictly within slack of the interval.
  const Int128 below = floor_div(interval.num(), interval.den());
  const bool whole = interval.is_integer();
  const Int128 least = slack == 0 ? below + (whole ? 0 : 1) : below - slack + 1;
  const Int128 most = slack == 0 ? below
                      : whole    ? below + slack - 1
                                 : below + slack;
  least_ = static_cast<std::int64_t>(std::max<Int128>(least, 0));
  most_ = static_cast<std::int64_t>(std::min<Int128>(most, kMostSpan));
}

std::optional<std::int64_t> CsvRowStep::several(std::int64_t ticks) const {
  if (ticks < least_) return std::nullopt;
  const Int128 den = interval_.den();
  const Int128 num = interval_.num();
  const Int128 scaled = static_cast<Int128>(ticks) * den;
  const Int128 count = std::max<Int128>(1, (2 * scaled + num) / (2 * num));
  const Int128 off = scaled - count * num;
  const Int128 distance = off < 0 ? -off : off;
  if (distance != 0 && distance >= den * slack_) return std::nullopt;
  return static_cast<std::int64_t>(count);
}

std::optional<RowStepFit> fit_row_step(std::span<const std::int64_t> times,
                                       std::int64_t resolution,
                                       const Rational& tick_s) {
  if (times.size() < 3) return std::nullopt;
  if (!std::is_sorted(times.begin(), times.end())) return std::nullopt;
  const std::int64_t usual = usual_step(times);
  if (usual > 0) {
    const Rational step(usual);
    const auto exact = checked(times, {CsvRowStep(step, 0), 0, step, step});
    if (exact) return exact;
  }
  return fit_uneven(times, usual, resolution, tick_s);
}

}  // namespace clockassay
