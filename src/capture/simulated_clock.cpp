// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/capture/simulated_clock.h"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <random>
#include <string>

namespace clockassay {
namespace {

// Chosen: 16 GiB of edges, more than anybody simulates by intent.
constexpr std::int64_t kMostEdges = std::int64_t{1} << 31;

// Largest common denominator of edge positions. The remainder and one step
// must add up within Int128 with room to spare.
constexpr Int128 kLargestDenominator = Int128{1} << 120;

// A period this many before time 0 is the first generated. With jitter an edge
// may move into the capture from outside; a quarter of the shorter half is an
// eighth of a period at most, so two periods are 16 standard deviations.
constexpr std::int64_t kPeriodsBefore = 3;

// Longest capture and longest period [samples]. With three periods before and
// after the capture, one on the way and the jitter no position reaches 2^63.
constexpr std::int64_t kMostSamples = std::int64_t{1} << 60;

// Widest glitch [samples]. Chosen: short against any pulse worth reading.
constexpr std::int64_t kWidestGlitch = 4;

// A position in samples, whole + remainder / denominator, 0 <= remainder <
// denominator. Adding a step needs no division and loses nothing.
struct Position {
  std::int64_t whole = 0;
  Int128 remainder = 0;

  void advance(const Position& step, Int128 denominator) {
    whole += step.whole;
    remainder += step.remainder;
    if (remainder >= denominator) {
      remainder -= denominator;
      ++whole;
    }
  }
};

// Everything about the edges but chance.
struct EdgePlan {
  Rational frequency_hz;
  Rational period;  // [samples]
  Int128 denominator = 1;
  Position step;
  Position first_rise;
  Position first_fall;
  std::int64_t last_sample = 0;
  double noise = 0.0;  // standard deviation [samples]
};

class Chance {
 public:
  explicit Chance(std::uint64_t seed) : engine_(seed) {}

  std::uint64_t bits() { return engine_(); }
  // In [0, 1), a multiple of 2^-53.
  double uniform() { return static_cast<double>(engine_() >> 11) * 0x1p-53; }
  bool happens(double probability) {
    return probability > 0.0 && uniform() < probability;
  }
  // In 0 … count-1. The bias of the remainder is below count * 2^-64.
  std::int64_t below(std::int64_t count) {
    return static_cast<std::int64_t>(engine_() %
                                     static_cast<std::uint64_t>(count));
  }
  // Standard normal, by the polar method (G. Marsaglia, T. A. Bray, SIAM
  // Review 6, 1964): std::normal_distribution differs between libraries.
  double normal() {
    if (has_spare_) {
      has_spare_ = false;
      return spare_;
    }
    double u = 0.0;
    double v = 0.0;
    double s = 0.0;
    do {
      u = 2.0 * uniform() - 1.0;
      v = 2.0 * uniform() - 1.0;
      s = u * u + v * v;
    } while (s >= 1.0 || s == 0.0);
    const double scale = std::sqrt(-2.0 * std::log(s) / s);
    spare_ = v * scale;
    has_spare_ = true;
    return u * scale;
  }

 private:
  std::mt19937_64 engine_;
  double spare_ = 0.0;
  bool has_spare_ = false;
};

Int128 floor_of(const Rational& value) {
  const Int128 quotient = value.num() / value.den();
  return quotient * value.den() > value.num() ? quotient - 1 : quotient;
}

tl::unexpected<Error> too_many_digits() {
  return failure(ErrorCode::kOutOfRange,
                 "the edge positions are fractions with too many digits to "
                 "be computed exactly",
                 "write frequency, offset, duty, phase and sample rate with "
                 "fewer digits");
}

tl::unexpected<Error> refuse(std::string message) {
  return failure(ErrorCode::kUsage, std::move(message));
}

bool is_probability(double p) {
  return p >= 0.0 && p <= 1.0;
}

std::optional<Error> check_options(const SimulatedClockOptions& options) {
  const auto no = [](std::string message) {
    return Error{ErrorCode::kUsage, std::move(message)};
  };
  if (options.frequency_hz.sign() <= 0 || options.sample_rate_hz.sign() <= 0) {
    return no("found a frequency or sample rate that is not above zero");
  }
  if (options.offset_ppm <= Rational(-1'000'000)) {
    return no("found an offset of " + options.offset_ppm.to_string() +
              " ppm, expected more than -1000000 ppm");
  }
  if (options.duty.sign() <= 0 || options.duty >= Rational(1)) {
    return no("found a duty of " + options.duty.to_string() +
              ", expected more than 0 and less than 1");
  }
  if (options.start_phase && (options.start_phase->sign() < 0 ||
                              *options.start_phase >= Rational(1))) {
    return no("found a start phase of " + options.start_phase->to_string() +
              ", expected at least 0 and less than 1");
  }
  if (!is_probability(options.drop_probability) ||
      !is_probability(options.glitch_probability)) {
    return no("found a probability outside 0 … 1");
  }
  if (!(options.jitter_rms_s >= 0.0)) {
    return no("found a jitter that is not zero or more");
  }
  if (options.cycles.has_value() == options.duration_s.has_value()) {
    return no("expected either a number of cycles or a duration");
  }
  if (options.cycles && *options.cycles < 1) {
    return no("found " + std::to_string(*options.cycles) +
              " cycles, expected at least 1");
  }
  if (options.duration_s && options.duration_s->sign() <= 0) {
    return no("found a duration that is not above zero");
  }
  return std::nullopt;
}

// f (1 + offset)
std::optional<Rational> offset_frequency(const SimulatedClockOptions& options) {
  const auto parts = add(Rational(1'000'000), options.offset_ppm);
  const auto scaled =
      parts ? multiply(options.frequency_hz, *parts) : std::nullopt;
  return scaled ? divide(*scaled, Rational(1'000'000)) : std::nullopt;
}

std::optional<Rational> length_in_samples(const SimulatedClockOptions& options,
                                          const Rational& period) {
  if (options.cycles) return multiply(Rational(*options.cycles), period);
  return multiply(*options.duration_s, options.sample_rate_hz);
}

std::optional<Int128> common_denominator(Int128 a, Int128 b) {
  Int128 x = a;
  Int128 y = b;
  while (y != 0) {
    const Int128 rest = x % y;
    x = y;
    y = rest;
  }
  Int128 product = 0;
  if (__builtin_mul_overflow(a / x, b, &product)) return std::nullopt;
  if (product > kLargestDenominator) return std::nullopt;
  return product;
}

std::optional<Position> to_position(const Rational& samples,
                                    Int128 denominator) {
  const Int128 whole = floor_of(samples);
  const auto fraction =
      subtract(samples, Rational(static_cast<std::int64_t>(whole)));
  const auto scale = Rational::make(denominator, 1);
  if (!fraction || !scale) return std::nullopt;
  const auto remainder = multiply(*fraction, *scale);
  if (!remainder) return std::nullopt;
  return Position{static_cast<std::int64_t>(whole), remainder->num()};
}

// Puts the positions of the first edges and the step over one denominator.
bool place_edges(EdgePlan& plan, const Rational& phase, const Rational& duty) {
  const auto start = subtract(phase, Rational(kPeriodsBefore));
  const auto rise = start ? multiply(*start, plan.period) : std::nullopt;
  const auto high = multiply(duty, plan.period);
  const auto fall = rise && high ? add(*rise, *high) : std::nullopt;
  if (!fall) return false;
  const auto partial = common_denominator(plan.period.den(), rise->den());
  const auto denominator =
      partial ? common_denominator(*partial, fall->den()) : std::nullopt;
  if (!denominator) return false;
  plan.denominator = *denominator;
  const auto step = to_position(plan.period, *denominator);
  const auto first_rise = to_position(*rise, *denominator);
  const auto first_fall = to_position(*fall, *denominator);
  if (!step || !first_rise || !first_fall) return false;
  plan.step = *step;
  plan.first_rise = *first_rise;
  plan.first_fall = *first_fall;
  return true;
}

Result<EdgePlan> plan_edges(const SimulatedClockOptions& options,
                            const Rational& phase) {
  EdgePlan plan;
  const auto frequency = offset_frequency(options);
  if (!frequency) return too_many_digits();
  const auto period = divide(options.sample_rate_hz, *frequency);
  if (!period) return too_many_digits();
  plan.frequency_hz = *frequency;
  plan.period = *period;
  if (plan.period < Rational(2)) {
    return refuse("found a clock of " + frequency->to_string() +
                  " Hz sampled at " + options.sample_rate_hz.to_string() +
                  " Hz, expected at least 2 samples a period");
  }
  if (plan.period > Rational(kMostSamples)) {
    return refuse("found a clock of " + frequency->to_string() +
                  " Hz sampled at " + options.sample_rate_hz.to_string() +
                  " Hz, expected at most 2^60 samples a period");
  }
  const auto length = length_in_samples(options, plan.period);
  if (!length) return too_many_digits();
  const double edges = 2.0 * length->to_double() / plan.period.to_double();
  if (edges * (1.0 + options.glitch_probability) >
          static_cast<double>(kMostEdges) ||
      *length > Rational(kMostSamples)) {
    return refuse("the capture would be too long, expected at most " +
                  std::to_string(kMostEdges) + " edges and 2^60 samples");
  }
  plan.last_sample = static_cast<std::int64_t>(floor_of(*length));
  plan.noise = options.jitter_rms_s * options.sample_rate_hz.to_double();
  const double duty = options.duty.to_double();
  const double shorter = std::min(duty, 1.0 - duty) * plan.period.to_double();
  if (plan.noise > shorter / 4.0) {
    return refuse(
        "found a jitter above a quarter of the shorter half of the clock, "
        "where rise and fall would change places");
  }
  if (!place_edges(plan, phase, options.duty)) return too_many_digits();
  return plan;
}

// The sampler: takes the edges in the order of the clock and keeps those it
// can tell apart.
class Sampler {
 public:
  Sampler(std::int64_t last_sample, SimulatedCapture& capture)
      : last_sample_(last_sample), capture_(capture) {}

  // The level changes at sample n. Two changes with no sample between them
  // leave no trace.
  void change(std::int64_t n) {
    if (!all_.empty() && n <= all_.back()) {
      if (in_view(n) || in_view(all_.back())) ++capture_.truth.merged;
      all_.pop_back();
      return;
    }
    all_.push_back(n);
  }

  bool in_view(std::int64_t n) const { return n >= 1 && n <= last_sample_; }
  std::optional<std::int64_t> last_change() const {
    if (all_.empty()) return std::nullopt;
    return all_.back();
  }

  void finish() {
    const auto begin = std::upper_bound(all_.begin(), all_.end(), 0);
    const auto end = std::upper_bound(begin, all_.end(), last_sample_);
    // The clock starts low, long before the capture.
    capture_.first_level =
        (begin - all_.begin()) % 2 == 0 ? Level::kLow : Level::kHigh;
    all_.erase(end, all_.end());
    all_.erase(all_.begin(), begin);
    capture_.edges = std::move(all_);
  }

 private:
  std::int64_t last_sample_;
  SimulatedCapture& capture_;
  std::vector<std::int64_t> all_;
};

// First sample at or after the position, moved by the noise [samples].
std::int64_t sample_of(const Position& at, const EdgePlan& plan,
                       Chance& chance) {
  if (plan.noise == 0.0) return at.whole + (at.remainder > 0 ? 1 : 0);
  const double fraction =
      static_cast<double>(at.remainder) / static_cast<double>(plan.denominator);
  return at.whole + static_cast<std::int64_t>(
                        std::ceil(fraction + plan.noise * chance.normal()));
}

// A short pulse of the other level strictly within samples from … to.
bool add_glitch(std::int64_t from, std::int64_t to, Sampler& sampler,
                Chance& chance) {
  const std::int64_t room = to - from - 2;  // one sample clear at either end
  if (room < 1) return false;
  const std::int64_t width = 1 + chance.below(std::min(room, kWidestGlitch));
  const std::int64_t start = from + 1 + chance.below(room - width + 1);
  sampler.change(start);
  sampler.change(start + width);
  return sampler.in_view(start) && sampler.in_view(start + width);
}

// One high pulse and perhaps a glitch, in it or in the low part before it.
void add_pulse(std::int64_t rise, std::int64_t fall,
               const SimulatedClockOptions& options, Sampler& sampler,
               Chance& chance, SimulationTruth& truth) {
  const bool in_view = sampler.in_view(rise);
  if (in_view) ++truth.pulses;
  if (chance.happens(options.drop_probability)) {
    if (in_view) ++truth.dropped;
    return;
  }
  const bool glitch = chance.happens(options.glitch_probability);
  const bool in_high = glitch && chance.uniform() < 0.5;
  if (glitch && !in_high && sampler.last_change()) {
    if (add_glitch(*sampler.last_change(), rise, sampler, chance)) {
      ++truth.glitches;
    }
  }
  sampler.change(rise);
  if (glitch && in_high && add_glitch(rise, fall, sampler, chance)) {
    ++truth.glitches;
  }
  sampler.change(fall);
}

}  // namespace

Result<SimulatedCapture> simulate_clock(const SimulatedClockOptions& options) {
  if (auto error = check_options(options)) {
    return tl::unexpected<Error>(*std::move(error));
  }
  Chance chance(options.seed);
  // 32 bits of a period are finer than any sampling seen.
  const Rational phase =
      options.start_phase
          ? *options.start_phase
          : *Rational::make(static_cast<Int128>(chance.bits() >> 32),
                            Int128{1} << 32);
  const Result<EdgePlan> plan = plan_edges(options, phase);
  if (!plan) return tl::unexpected<Error>(plan.error());

  SimulatedCapture capture;
  capture.sample_rate_hz = options.sample_rate_hz;
  capture.last_sample = plan->last_sample;
  capture.truth.frequency_hz = plan->frequency_hz;
  capture.truth.start_phase = phase;
  Sampler sampler(plan->last_sample, capture);
  Position rise = plan->first_rise;
  Position fall = plan->first_fall;
  const std::int64_t beyond =
      plan->last_sample + kPeriodsBefore * (plan->step.whole + 1);
  while (rise.whole <= beyond) {
    const std::int64_t rise_sample = sample_of(rise, *plan, chance);
    const std::int64_t fall_sample = sample_of(fall, *plan, chance);
    add_pulse(rise_sample, fall_sample, options, sampler, chance,
              capture.truth);
    rise.advance(plan->step, plan->denominator);
    fall.advance(plan->step, plan->denominator);
  }
  sampler.finish();
  return capture;
}

}  // namespace clockassay
