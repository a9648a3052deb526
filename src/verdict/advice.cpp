// SPDX-License-Identifier: GPL-3.0-or-later
#include "verdict/advice.h"

#include <algorithm>
#include <cmath>

#include "verdict/wording.h"

namespace clockassay {
namespace {

// A suggestion uses a round figure below what is just enough: two digits,
// rounded down.
double rounded_down(double value) {
  const double unit = std::pow(10.0, std::floor(std::log10(value)) - 1.0);
  return std::floor(value / unit) * unit;
}

std::string timebase_words(const Timebase& timebase) {
  return "±" + number_text(timebase.tolerance.value(), 4) + " ppm, " +
         timebase_kind_name(timebase.kind);
}

// U of the normal part alone, in ppm of the expected frequency.
double capture_U(const MeasuredError& error) {
  return expanded_half_width({0.0, error.distribution.normal_sigma},
                             error.coverage);
}

std::string timebase_sentence(const std::string& opening,
                              const MeasuredError& error, double margin,
                              double sufficient, const Timebase& timebase) {
  return opening + " known to ±" + number_text(rounded_down(sufficient), 2) +
         " ppm would decide it (now " + timebase_words(timebase) +
         "): U must come down from " +
         ppm_text(error.expanded_ppm, error.expanded_ppm) + " to " +
         ppm_text(margin, margin) + " ppm.";
}

std::string reference_sentence(double sufficient) {
  const std::string size = number_text(rounded_down(sufficient), 2);
  return "Ways to such a timebase: measure a clock known to ±" + size +
         " ppm with this instrument once, warmed up, and state the offset "
         "found; or record such a clock on another channel of the same "
         "capture and compare the two.";
}

// The capture's share shrinks at least in proportion to its length.
std::string longer_sentence(double capture, double margin, bool alone,
                            const ClockEvidence& evidence) {
  // Half the margin leaves the other half to the timebase.
  const double times = std::ceil(2.0 * capture / margin);
  std::string sentence =
      (alone ? "Whatever the timebase, a longer capture is needed: "
             : "A longer capture helps as well: ");
  sentence += "sampling and jitter alone leave " + ppm_text(capture, capture) +
              " ppm; " + number_text(times, 3) + " times the length";
  const double seconds = evidence.duration.value() * times;
  if (std::isfinite(seconds) && seconds > 0.0) {
    sentence += " (" + number_text(seconds, 2) + " s)";
  }
  return sentence +
         ", or a sample rate as many times higher, takes them to "
         "half of the margin.";
}

}  // namespace

std::optional<double> sufficient_rectangle(double normal_sigma, double coverage,
                                           double margin) {
  const auto fits = [&](double a) {
    const ErrorDistribution d{a, normal_sigma};
    return !is_proper(d) || expanded_half_width(d, coverage) <= margin;
  };
  if (!(margin > 0.0) || !fits(0.0)) return std::nullopt;
  // U >= coverage * a, so this is too much or just enough.
  double low = 0.0;
  double high = margin / coverage;
  constexpr int kHalvings = 60;  // to the last bit of a double
  for (int i = 0; i < kHalvings; ++i) {
    const double middle = 0.5 * (low + high);
    (fits(middle) ? low : high) = middle;
  }
  if (!(low > 0.0)) return std::nullopt;
  return low;
}

std::vector<std::string> advice_to_decide(const MeasuredError& error,
                                          double low, double high,
                                          const ClockEvidence& evidence) {
  // Where the nearest limit is: U below that decides, either way.
  const double margin =
      std::min(std::abs(high - error.ppm), std::abs(error.ppm - low));
  const double capture = capture_U(error);
  // Chosen: a hundredth of U is more than any cure here promises.
  if (!(margin > 0.01 * error.expanded_ppm)) {
    return {
        "The clock sits on its limit: no better measurement will decide "
        "it, only a clock nearer to nominal."};
  }
  std::vector<std::string> advice;
  const std::optional<double> sufficient = sufficient_rectangle(
      error.distribution.normal_sigma, error.coverage, margin);
  const bool now_enough =
      sufficient && *sufficient >= error.distribution.rectangle_half_width;
  if (sufficient && !now_enough) {
    advice.push_back(timebase_sentence("A timebase", error, margin, *sufficient,
                                       evidence.timebase));
    advice.push_back(reference_sentence(*sufficient));
  }
  if (capture > 0.5 * margin) {
    advice.push_back(longer_sentence(capture, margin, !sufficient, evidence));
    if (!sufficient) {
      // With the capture's part at half of the margin.
      const std::optional<double> then = sufficient_rectangle(
          error.distribution.normal_sigma * 0.5 * margin / capture,
          error.coverage, margin);
      if (then && *then < error.distribution.rectangle_half_width) {
        advice.push_back(timebase_sentence("With that, a timebase", error,
                                           margin, *then, evidence.timebase));
      }
    }
  } else if (sufficient && !now_enough) {
    advice.push_back(
        "A longer capture would not help: without the timebase U "
        "is " +
        ppm_text(capture, capture) + " ppm already.");
  }
  return advice;
}

}  // namespace clockassay
