// SPDX-License-Identifier: GPL-3.0-or-later
#include "plan/capture_cures.h"

#include <cmath>

#include "plan/capture_jitter.h"
#include "plan/capture_question.h"
#include "verdict/advice.h"

namespace clockassay {
namespace {

// Chosen: a capture that alone leaves more of the aim than that asks more of a
// timebase than a longer one would.
constexpr double kMostOfAim = 0.8;
constexpr double kShareWithTimebase = 0.5;

// Chosen: a calibration that is to be known to less than that of what it gives
// asks for the timebase itself.
constexpr double kLeastCalibration = 0.05;

struct Cure {
  const CapturePlan& plan;
  double aim;    // [ppm]
  double sigma;  // of the capture as planned [ppm]
  double coverage = plan.input.coverage;
  bool reference = plan.input.reference_tolerance.has_value();
};

// The rate at which a capture as long as planned leaves that; absent: none.
std::optional<Hertz> rate_for(const Cure& c, double sigma) {
  const double parts = c.reference ? std::sqrt(2.0) : 1.0;
  const double width = half_width_of(sigma).value() / parts;
  const CaptureSetting band = clocks_within(c.plan, 2.0, 0.0);
  const double cycles = c.plan.width.cycles;
  const double rate =
      two_digits_up(band.high.value() / (cycles * width * kPartsPerMillion));
  if (!(rate > sample_rate(c.plan)) || rate > kFastestSamplerHz) {
    return std::nullopt;
  }
  if (jitter_spoils(c.plan, rate, c.plan.duration)) return std::nullopt;
  // Where jitter counts none is enough.
  if (!(capture_sigma(c.plan, rate, c.plan.duration, c.reference) <= sigma)) {
    return std::nullopt;
  }
  return Hertz(rate);
}

// A capture as short as usual where one that is safe for any clock has so many
// periods that one of them is off. Whether there is any.
bool name_capture(const Cure& c, double sigma, CaptureCures& cures) {
  const double width = half_width_of(sigma).value();
  cures.sample_rate = rate_for(c, sigma);
  for (const Seconds time :
       {safe_duration(c.plan, width), duration_by_width(c.plan, width)}) {
    const double rate = sample_rate(c.plan);
    if (jitter_spoils(c.plan, rate, time)) continue;
    // Lengths are rounded, and the reference's part goes by steps.
    constexpr double kRounded = 1.05;
    if (time > c.plan.duration &&
        capture_sigma(c.plan, rate, time, c.reference) > kRounded * sigma) {
      continue;
    }
    if (time > c.plan.duration) cures.duration = time;
    return true;
  }
  return cures.sample_rate.has_value();
}

// As rectangles go with such a capture.
void name_timebase(const Cure& c, double sigma, CaptureCures& cures) {
  const auto enough = sufficient_rectangle(sigma, c.coverage, c.aim);
  if (!enough || *enough >= rectangle_of(c.plan.input)) return;
  cures.timebase = Ppm(two_digits_down(*enough));
  if (c.reference) return;
  // One measured before adds what its own capture leaves, and the instrument
  // moves until then.
  const double known = cures.timebase->value() - kMovesBetweenCapturesPpm -
                       expanded_of(0.0, sigma, c.coverage);
  if (known > kLeastCalibration * *enough) {
    cures.calibration = Ppm(two_digits_down(known));
  }
}

void name_reference(const Cure& c, CaptureCures& cures) {
  if (c.reference) return;
  const Seconds time = cures.capture_alone
                           ? c.plan.duration
                           : cures.duration.value_or(c.plan.duration);
  const double sigma = capture_sigma(c.plan, sample_rate(c.plan), time, true);
  const auto enough = sufficient_rectangle(sigma, c.coverage, c.aim);
  if (enough && *enough < rectangle_of(c.plan.input)) {
    cures.reference = Ppm(two_digits_down(*enough));
  }
}

}  // namespace

CaptureCures find_cures(const CapturePlan& plan) {
  CaptureCures cures;
  const double aim = 0.5 * half_of_limits(plan);
  if (!std::isfinite(plan.width.half_width.value())) return cures;
  if (plan.expanded.value() <= aim) return cures;
  const Cure c{plan, aim,
               capture_sigma(plan, sample_rate(plan), plan.duration,
                             plan.input.reference_tolerance.has_value())};
  const auto room =
      sufficient_normal(rectangle_of(plan.input), c.coverage, aim);
  double sigma = c.sigma;
  bool is_long_enough = true;
  if (room) {
    is_long_enough = name_capture(c, *room, cures);
    cures.capture_alone = is_long_enough;
  } else if (expanded_of(0.0, sigma, c.coverage) > kMostOfAim * aim) {
    // Room for a timebase has to be made first.
    sigma *= kShareWithTimebase * aim / expanded_of(0.0, sigma, c.coverage);
    is_long_enough = name_capture(c, sigma, cures);
    // A timebase alone is not enough.
    if (!is_long_enough) {
      cures.less_jitter = true;
      return cures;
    }
  }
  name_timebase(c, sigma, cures);
  name_reference(c, cures);
  cures.less_jitter = !is_long_enough && !cures.timebase;
  return cures;
}

}  // namespace clockassay
