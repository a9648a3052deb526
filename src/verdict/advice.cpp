// SPDX-License-Identifier: GPL-3.0-or-later
#include "verdict/advice.h"

#include <algorithm>
#include <cmath>

#include "verdict/cause_evidence.h"
#include "verdict/wording.h"

namespace clockassay {
namespace {

constexpr double kPpm = 1e-6;

// What is left of U by the best a bench has, a disciplined oscillator beside a
// long capture. Chosen: oscillators themselves wander by as much.
constexpr double kBestPpm = 1e-3;

// A clock that seems to lie so much nearer to its limit than U seems to sit on
// it, but may lie anywhere within U: what decides is not how near it seems. A U
// brought down to the second share leaves fewer than one in ten of such clocks
// undecided. Both chosen.
constexpr double kSeemsOnLimit = 1.0 / 100.0;
constexpr double kShareOfU = 1.0 / 20.0;

// A suggestion uses round figures on the safe side: two digits.
double rounded_down(double value) {
  const double unit = std::pow(10.0, std::floor(std::log10(value)) - 1.0);
  return std::floor(value / unit) * unit;
}

double rounded_up(double value) {
  const double unit = std::pow(10.0, std::floor(std::log10(value)) - 1.0);
  // Not for a rounding error on top of a round figure.
  constexpr double kSlack = 1.0 - 1e-9;
  return std::ceil(value / unit * kSlack) * unit;
}

// The largest value that fits, by halving; absent where not even zero does.
template <class Fits>
std::optional<double> largest(double too_much, Fits fits) {
  if (!fits(0.0)) return std::nullopt;
  double low = 0.0;
  double high = too_much;
  constexpr int kHalvings = 60;  // to the last bit of a double
  for (int i = 0; i < kHalvings; ++i) {
    const double middle = 0.5 * (low + high);
    (fits(middle) ? low : high) = middle;
  }
  if (!(low > 0.0)) return std::nullopt;
  return low;
}

bool fits_within(double rectangle, double sigma, double coverage,
                 double margin) {
  const ErrorDistribution d{rectangle, sigma};
  return !is_proper(d) || expanded_half_width(d, coverage) <= margin;
}

// U of the normal part alone, in ppm of the expected frequency.
double capture_U(const MeasuredError& error) {
  return expanded_half_width({0.0, error.distribution.normal_sigma},
                             error.coverage);
}

// U that the jitter of the edges leaves by itself, whatever the sampler: the
// variance of the slope of a line, 12 σ²/(N T²).
std::optional<double> jitter_U(const ClockEvidence& evidence, double coverage) {
  if (!evidence.jitter || evidence.jitter->cycles < 1) return std::nullopt;
  const std::optional<Seconds> edge = evidence.jitter->edge_rms
                                          ? evidence.jitter->edge_rms
                                          : evidence.jitter->upper_limit;
  if (!edge) return std::nullopt;
  const double edges = static_cast<double>(evidence.jitter->cycles);
  const double sigma_ppm = edge->value() * std::sqrt(12.0 / edges) /
                           evidence.duration.value() / kPpm;
  return expanded_half_width({0.0, sigma_ppm}, coverage);
}

// The rate at which no more than `target_ppm` is left of sampling.
std::optional<Hertz> sufficient_rate(double target_ppm, double times,
                                     const MeasuredError& error,
                                     const ClockEvidence& evidence) {
  const std::optional<double> jitter = jitter_U(evidence, error.coverage);
  if (!evidence.sample_interval || !jitter) return std::nullopt;
  if (*jitter > 0.5 * target_ppm) return std::nullopt;
  const double proportional = times / evidence.sample_interval->value();
  // A sample interval at each end, over the length.
  const double worst = 2.0 / (evidence.duration.value() * target_ppm * kPpm);
  const double rate = rounded_up(std::max(proportional, worst));
  if (!(rate <= kFastestSamplerHz)) return std::nullopt;
  return Hertz(rate);
}

void name_capture(const MeasuredError& error, const ClockEvidence& evidence,
                  ToDecide& numbers) {
  const double now = capture_U(error);
  const double aim = numbers.aim.value();
  const std::optional<double> sigma = sufficient_normal(
      error.distribution.rectangle_half_width, error.coverage, aim);
  // Where the timebase allows, down to what decides; where it does not and the
  // capture alone is too much already, down to half, which leaves it room.
  if (!sigma && now < aim) return;
  if (has_warning(evidence, WarningCode::kWander)) return;
  const double target =
      sigma ? expanded_half_width({0.0, *sigma}, error.coverage) : 0.5 * aim;
  const double times = now / target;
  const double duration = evidence.duration.value() * times;
  if (!std::isfinite(duration) || !(duration > 0.0) || !(times > 1.0)) return;
  numbers.duration = Seconds(rounded_up(duration));
  numbers.sample_rate = sufficient_rate(target, times, error, evidence);
  numbers.capture_alone = sigma.has_value();
}

void name_timebase(const MeasuredError& error, ToDecide& numbers) {
  const double aim = numbers.aim.value();
  double sigma = error.distribution.normal_sigma;
  std::optional<double> enough =
      sufficient_rectangle(sigma, error.coverage, aim);
  if (!enough && numbers.duration) {
    // With the capture's part at half of that.
    sigma *= 0.5 * aim / capture_U(error);
    enough = sufficient_rectangle(sigma, error.coverage, aim);
  }
  if (!enough || *enough >= error.distribution.rectangle_half_width) return;
  numbers.timebase = Ppm(rounded_down(*enough));
  // A clock beside adds what is not known of its own rate: as much again.
  const std::optional<double> beside =
      sufficient_rectangle(std::sqrt(2.0) * sigma, error.coverage, aim);
  if (beside) numbers.reference = Ppm(rounded_down(*beside));
  // One measured before adds the same, and the instrument moves until then.
  const double known = *enough - kMovesBetweenCapturesPpm - capture_U(error);
  if (known > 0.05 * *enough) numbers.calibration = Ppm(rounded_down(known));
}

std::string ppm_words(const Ppm& ppm) {
  return "±" + number_text(ppm.value(), 2) + " ppm";
}

std::string what_is_decided(const ToDecide& numbers) {
  return numbers.check.empty() ? "it" : "\"" + numbers.check + "\"";
}

std::string timebase_sentence(const MeasuredError& error,
                              const ToDecide& numbers, const Timebase& timebase,
                              bool after_capture) {
  const bool reference = timebase.kind == TimebaseKind::kReference;
  const double aim = numbers.aim.value();
  return std::string(after_capture ? "With that, a " : "A ") +
         (reference ? "reference" : "timebase") + " known to " +
         ppm_words(*numbers.timebase) + " would decide " +
         what_is_decided(numbers) + " (now ±" +
         number_text(timebase.tolerance.value(), 4) + " ppm, " +
         timebase_kind_name(timebase.kind) + "): U must come down from " +
         ppm_text(error.expanded_ppm, error.expanded_ppm) + " to " +
         ppm_text(aim, aim) + " ppm.";
}

std::string ways_sentence(const ToDecide& numbers) {
  std::string beside;
  if (numbers.reference) {
    beside = "record a clock known to " + ppm_words(*numbers.reference) +
             " on another channel of the same capture (--reference)";
  }
  std::string before;
  if (numbers.calibration) {
    before = "measure a clock known to " + ppm_words(*numbers.calibration) +
             " with this instrument once, warmed up, and state the offset "
             "found, ±" +
             number_text(numbers.timebase->value(), 2) + " ppm (--timebase)";
  }
  if (beside.empty() && before.empty()) return "";
  if (beside.empty()) return "A way to such a timebase: " + before + ".";
  if (before.empty()) {
    return "A way to such a timebase: " + beside +
           "; an offset measured before moves by more.";
  }
  return "Ways to such a timebase: " + before + "; or " + beside + ".";
}

std::string capture_sentence(const MeasuredError& error,
                             const ToDecide& numbers) {
  const double now = capture_U(error);
  // The comma closes what lies between; before a colon it has gone.
  const char* trailing = numbers.capture_alone ? "," : "";
  std::string what = number_text(numbers.duration->value(), 2) + " s";
  if (numbers.sample_rate) {
    what += ", or one as long as this at " +
            hertz_text(numbers.sample_rate->value()) + trailing;
  }
  const std::string left =
      "sampling and jitter leave " + ppm_text(now, now) + " ppm now.";
  if (!numbers.capture_alone) {
    return "Whatever the timebase, it takes a capture of " + what + ": " + left;
  }
  return std::string(numbers.timebase ? "Or, with the timebase as it is, a"
                                      : "With the timebase as it is, a") +
         " capture of " + what + " would decide " + what_is_decided(numbers) +
         ": " + left;
}

// Why no length is named; empty: one is, or none is asked for.
std::string no_length_sentence(const MeasuredError& error,
                               const ToDecide& numbers,
                               const ClockEvidence& evidence) {
  if (has_warning(evidence, WarningCode::kWander)) {
    return "A longer capture need not help: the frequency itself wanders.";
  }
  if (numbers.duration || !numbers.timebase) return "";
  const double capture = capture_U(error);
  return "A longer capture alone would not decide it: without the timebase U "
         "is " +
         ppm_text(capture, capture) + " ppm already.";
}

// Of how many clocks such figures are true.
std::string how_sure_sentence(const ToDecide& numbers) {
  if (numbers.aim.value() > 0.5 * numbers.margin.value()) {
    return "The clock seems to sit on its limit, and U leaves open on which "
           "side: with these figures more than nine in ten such clocks are "
           "decided.";
  }
  return "These figures do for a clock that is off by what it seems to be now: "
         "U is then half of what lies between it and its limit. One that turns "
         "out nearer to its limit may stay undecided.";
}

}  // namespace

std::optional<double> sufficient_rectangle(double normal_sigma, double coverage,
                                           double margin) {
  if (!(margin > 0.0)) return std::nullopt;
  // U >= coverage * a, so this is too much or just enough.
  return largest(margin / coverage, [&](double a) {
    return fits_within(a, normal_sigma, coverage, margin);
  });
}

std::optional<double> sufficient_normal(double rectangle_half_width,
                                        double coverage, double margin) {
  if (!(margin > 0.0)) return std::nullopt;
  // U of it alone is twice sigma or so: this is too much at any coverage that
  // reaches a hundredth of sigma.
  return largest(100.0 * margin, [&](double sigma) {
    return fits_within(rectangle_half_width, sigma, coverage, margin);
  });
}

ToDecide numbers_to_decide(const MeasuredError& error, double low, double high,
                           const ClockEvidence& evidence) {
  ToDecide numbers;
  // Where the nearest limit is: U below that decides, either way.
  const double margin =
      std::min(std::abs(high - error.ppm), std::abs(error.ppm - low));
  numbers.margin = Ppm(margin);
  // What is measured next is off by anything within its own U: half leaves room
  // for that.
  const double U = error.expanded_ppm;
  const bool seems_on_limit =
      !(margin > kSeemsOnLimit * U) || !(0.5 * margin > kBestPpm);
  numbers.aim = Ppm(seems_on_limit ? kShareOfU * U : 0.5 * margin);
  numbers.on_limit = !(numbers.aim.value() > kBestPpm);
  if (numbers.on_limit) return numbers;
  name_capture(error, evidence, numbers);
  name_timebase(error, numbers);
  return numbers;
}

std::vector<std::string> advice_to_decide(const MeasuredError& error,
                                          const ToDecide& numbers,
                                          const ClockEvidence& evidence) {
  if (numbers.on_limit) {
    return {"The clock sits on its limit, to " +
            number_text(1e3 * kBestPpm, 2) +
            " ppb and less: no better measurement will decide it, only a clock "
            "nearer to nominal."};
  }
  std::vector<std::string> advice;
  const bool capture_first = numbers.duration && !numbers.capture_alone;
  if (capture_first) advice.push_back(capture_sentence(error, numbers));
  if (numbers.timebase) {
    advice.push_back(
        timebase_sentence(error, numbers, evidence.timebase, capture_first));
    const std::string ways = ways_sentence(numbers);
    const bool has_reference =
        evidence.timebase.kind == TimebaseKind::kReference;
    if (!ways.empty() && !has_reference) advice.push_back(ways);
  }
  if (numbers.duration && !capture_first) {
    advice.push_back(capture_sentence(error, numbers));
  }
  const std::string rest = no_length_sentence(error, numbers, evidence);
  if (!rest.empty()) advice.push_back(rest);
  if (!advice.empty()) advice.push_back(how_sure_sentence(numbers));
  return advice;
}

}  // namespace clockassay
