// SPDX-License-Identifier: GPL-3.0-or-later
#include "verdict/aliasing.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <utility>

#include "verdict/hypotheses.h"
#include "verdict/wording.h"

namespace clockassay {
namespace {

/// A frequency that may be at the pin.
struct Possible {
  std::string who;
  Rational frequency_hz;
  ToleranceBand source_ppm;
  bool is_expected = false;
  bool is_suspect = false;
};

std::string hertz(const Rational& f) {
  return hertz_text(f.to_double());
}

void append_direct(const std::vector<Suspect>& suspects,
                   std::vector<Possible>& list) {
  for (const Suspect& s : suspects) {
    const bool there =
        std::any_of(list.begin(), list.end(), [&s](const Possible& p) {
          return p.is_suspect && p.frequency_hz == s.frequency_hz;
        });
    if (there) continue;
    list.push_back(
        {s.name + " (" + hertz(s.frequency_hz) + ") straight at the pin",
         s.frequency_hz, s.tolerance_ppm, false, true});
  }
}

/// The source of the path, and what is between its factors, at the pin.
void append_path(const ClockSpec& clock, std::vector<Possible>& list) {
  ClockPath part = clock.expect;
  part.factors.clear();
  std::optional<Rational> frequency = part.source_hz;
  for (const PathFactor& factor : clock.expect.factors) {
    const bool there = std::any_of(
        list.begin(), list.end(),
        [&](const Possible& p) { return p.frequency_hz == *frequency; });
    if (!there) {
      list.push_back({clock_path_expression(part) + " straight at the pin",
                      *frequency, clock.tolerance.make, false, false});
    }
    frequency = factor.divides ? divide(*frequency, factor.value)
                               : multiply(*frequency, factor.value);
    if (!frequency) return;
    part.factors.push_back(factor);
  }
}

/// The expected clock first; no frequency twice that no suspect makes.
std::vector<Possible> possible_clocks(const ClockSpec& clock,
                                      const std::vector<Suspect>& suspects) {
  std::vector<Possible> list = {{"the expected clock",
                                 clock.expect.frequency_hz,
                                 clock.tolerance.make, true, false}};
  for (const Hypothesis& h : make_hypotheses(clock, suspects)) {
    // Two slips at once, aliased, explain nearly anything.
    if (h.slips > 1 || h.frequency_hz == clock.expect.frequency_hz) continue;
    list.push_back(
        {h.cause, h.frequency_hz, h.source_ppm, false, h.from_suspect});
  }
  append_path(clock, list);
  append_direct(suspects, list);
  return list;
}

/// A clock seen as the measured one, at k fs ± f.
struct Fold {
  std::int64_t k = 0;
  double true_hz = 0.0;
  double off_hz = 0.0;  ///< of the frequency it is held against
};

/// The one above half the sample rate that is nearest to `f`.
std::optional<Fold> nearest_fold(double f, double rate, double measured) {
  constexpr double kMostFolds = 1e9;  // beyond, no tolerance tells them apart
  const double turns = std::round(f / rate);
  if (!(turns < kMostFolds)) return std::nullopt;
  std::optional<Fold> best;
  for (double k = turns - 1.0; k <= turns + 1.0; ++k) {
    for (const double sign : {-1.0, 1.0}) {
      const double there = k * rate + sign * measured;
      if (k < 1.0 || there <= 0.5 * rate) continue;
      const double off = there - f;
      if (best && std::abs(off) >= std::abs(best->off_hz)) continue;
      best = Fold{static_cast<std::int64_t>(k), there, off};
    }
  }
  return best;
}

double tolerance_ppm(const ToleranceBand& band, double side) {
  return side >= 0.0 ? std::max(0.0, band.high_ppm.to_double())
                     : std::max(0.0, -band.low_ppm.to_double());
}

/// Half the width in hertz of where a clock may be, for telling two apart. An
/// unstated timebase; common practice, no source.
double doubt_hz(const Possible& p) {
  constexpr double kTimebasePpm = 100.0;
  return (std::max(tolerance_ppm(p.source_ppm, 1.0),
                   tolerance_ppm(p.source_ppm, -1.0)) +
          kTimebasePpm) *
         1e-6 * p.frequency_hz.to_double();
}

/// Whether two clocks that differ would look alike at this rate.
bool look_alike(const Possible& a, const Possible& b, const Rational& rate) {
  constexpr double kMargin = 2.0;  // chosen: twice their doubts apart
  const auto seen_a = alias_of(a.frequency_hz, rate);
  const auto seen_b = alias_of(b.frequency_hz, rate);
  if (!seen_a || !seen_b) return true;
  if (seen_a->folds == 0 && seen_b->folds == 0) return false;
  const double apart = std::abs(seen_a->frequency_hz.to_double() -
                                seen_b->frequency_hz.to_double());
  const double doubt = kMargin * (doubt_hz(a) + doubt_hz(b));
  const double truly =
      std::abs(a.frequency_hz.to_double() - b.frequency_hz.to_double());
  return apart <= doubt && truly > doubt;
}

bool tells(const std::vector<Possible>& list, const Rational& rate,
           bool suspects_too) {
  for (std::size_t i = 0; i < list.size(); ++i) {
    if (i > 0 && !(suspects_too && list[i].is_suspect)) continue;
    for (std::size_t j = i + 1; j < list.size(); ++j) {
      if (i > 0 && !list[j].is_suspect) continue;
      if (look_alike(list[i], list[j], rate)) return false;
    }
  }
  return true;
}

}  // namespace

std::vector<Rational> usual_sample_rates(double from_hz, double to_hz) {
  constexpr std::array<std::int64_t, 15> kHundredths = {
      100, 120, 125, 160, 200, 240, 250, 300,
      320, 400, 480, 500, 600, 800, 960};
  std::vector<Rational> rates;
  // From 100 Hz; beyond 1 THz nobody samples edges.
  for (std::int64_t decade = 1; decade <= 10'000'000'000; decade *= 10) {
    for (const std::int64_t mantissa : kHundredths) {
      const Rational rate(mantissa * decade);
      const double hz = rate.to_double();
      if (hz >= from_hz && hz <= to_hz) rates.push_back(rate);
    }
  }
  return rates;
}

std::optional<Alias> alias_of(const Rational& frequency_hz,
                              const Rational& sample_rate_hz) {
  const auto turns = divide(frequency_hz, sample_rate_hz);
  if (!turns) return std::nullopt;
  const auto shifted = add(*turns, *Rational::make(1, 2));
  if (!shifted) return std::nullopt;
  const Int128 k = shifted->num() / shifted->den();
  if (k > std::int64_t{1'000'000'000}) return std::nullopt;
  Alias alias;
  alias.folds = static_cast<std::int64_t>(k);
  const auto whole = multiply(sample_rate_hz, Rational(alias.folds));
  if (!whole) return std::nullopt;
  const auto seen = frequency_hz < *whole ? subtract(*whole, frequency_hz)
                                          : subtract(frequency_hz, *whole);
  if (!seen) return std::nullopt;
  alias.frequency_hz = *seen;
  return alias;
}

std::optional<Rational> telling_rate(const ClockSpec& clock,
                                     const std::vector<Suspect>& suspects,
                                     const Rational& near_hz) {
  constexpr double kFewestSamples = 4.0;  // chosen: one more than forbidden
  constexpr double kMostSamples = 1000.0;
  const double f = clock.expect.frequency_hz.to_double();
  std::vector<Rational> rates =
      usual_sample_rates(kFewestSamples * f, kMostSamples * f);
  const double near = std::log(near_hz.to_double());
  std::stable_sort(rates.begin(), rates.end(),
                   [near](const Rational& a, const Rational& b) {
                     return std::abs(std::log(a.to_double()) - near) <
                            std::abs(std::log(b.to_double()) - near);
                   });
  const std::vector<Possible> list = possible_clocks(clock, suspects);
  for (const bool suspects_too : {true, false}) {
    for (const Rational& rate : rates) {
      if (rate != near_hz && tells(list, rate, suspects_too)) return rate;
    }
  }
  return std::nullopt;
}

namespace {

/// Whether an alias that may lie within `allowed_hz` of where it is expected
/// would come to lie within the clock's own tolerance by mere coincidence: it
/// is anywhere in that, as a fast clock's is beside a slow one.
bool is_coincidence(const ClockSpec& clock, double allowed_hz) {
  constexpr double kChance = 1e-3;  // chosen; less than other slips happen
  const ToleranceBand& make = clock.tolerance.make;
  const double width_ppm = make.high_ppm.to_double() - make.low_ppm.to_double();
  const double width_hz =
      width_ppm * 1e-6 * clock.expect.frequency_hz.to_double();
  return width_hz < kChance * 2.0 * allowed_hz;
}

/// What is named and would look like the measured clock at one sample rate.
void append_aliases(const ClockSpec& clock,
                    const std::vector<Suspect>& suspects,
                    const ClockEvidence& evidence, const Rational& rate_hz,
                    std::vector<AliasCandidate>& found) {
  const double rate =
      rate_hz.to_double() * (1.0 + 1e-6 * evidence.timebase.offset.value());
  const double measured = evidence.budget.frequency.value.value();
  const double U_hz =
      evidence.budget.relative_to_timebase.expanded_uncertainty.value();
  std::optional<std::optional<Rational>> second;
  for (const Possible& p : possible_clocks(clock, suspects)) {
    const double f = p.frequency_hz.to_double();
    const auto fold = nearest_fold(f, rate, measured);
    const auto alias = alias_of(p.frequency_hz, rate_hz);
    if (!fold || !alias || alias->folds == 0) continue;
    const double allowed =
        tolerance_ppm(p.source_ppm, fold->off_hz) * 1e-6 * f +
        evidence.timebase.tolerance.value() * 1e-6 * fold->true_hz + U_hz;
    const auto ratio = divide(alias->frequency_hz, clock.expect.frequency_hz);
    if (!(std::abs(fold->off_hz) <= allowed) || !ratio) continue;
    if (!p.is_expected && is_coincidence(clock, allowed)) continue;
    if (!second) second = telling_rate(clock, suspects, rate_hz);
    AliasCandidate c;
    c.who = p.who;
    c.true_hz = p.frequency_hz;
    c.alias = *alias;
    c.ratio = *ratio;
    c.is_expected = p.is_expected;
    c.residual_ppm = fold->off_hz / measured * 1e6;
    c.allowed_ppm = allowed / measured * 1e6;
    c.sample_rate_hz = rate_hz;
    c.second_rate_hz = *second;
    if (*second) {
      if (const auto then = alias_of(p.frequency_hz, **second)) {
        c.seen_then_hz = then->frequency_hz;
      }
    }
    found.push_back(std::move(c));
  }
}

}  // namespace

std::vector<AliasCandidate> find_aliases(const ClockSpec& clock,
                                         const std::vector<Suspect>& suspects,
                                         const ClockEvidence& evidence) {
  constexpr std::size_t kMostRates = 3;  // chosen: enough to doubt
  std::vector<AliasCandidate> found;
  if (!evidence.sample_rate_hz) return found;
  append_aliases(clock, suspects, evidence, *evidence.sample_rate_hz, found);
  std::size_t rates = 0;
  for (const Rational& rate : evidence.possible_rates_hz) {
    if (rate == *evidence.sample_rate_hz || rates == kMostRates) continue;
    const std::size_t before = found.size();
    append_aliases(clock, suspects, evidence, rate, found);
    rates += found.size() > before;
  }
  return found;
}

std::string alias_words(const Rational& true_hz, const Alias& alias,
                        const Rational& sample_rate_hz) {
  return hertz(true_hz) + " sampled at " + hertz(sample_rate_hz) +
         " is seen at " + hertz(alias.frequency_hz) + ", its distance from " +
         (alias.folds == 1
              ? "the sample rate"
              : std::to_string(alias.folds) + " times the sample rate");
}

namespace {

std::string second_capture(const AliasCandidate& c) {
  if (!c.second_rate_hz || !c.seen_then_hz) {
    return "capture again at a much different sample rate: an alias moves, a "
           "clock stays";
  }
  return "capture again at " + hertz(*c.second_rate_hz) +
         ", where this would be seen at " + hertz(*c.seen_then_hz);
}

}  // namespace

Warning alias_warning(const AliasCandidate& c) {
  return {WarningCode::kAliasCandidate,
          "it may be an alias: " + c.who + ": " +
              alias_words(c.true_hz, c.alias, c.sample_rate_hz) +
              "; the measured frequency is " +
              offset_text(c.residual_ppm, c.allowed_ppm) +
              " off that, and up to " +
              offset_text(c.allowed_ppm, c.allowed_ppm) +
              " would fit; one capture cannot tell: " + second_capture(c)};
}

Cause alias_cause(const AliasCandidate& c, Hertz measured) {
  Cause cause;
  cause.code = CauseCode::kAliased;
  cause.cause = "aliasing of " + hertz(c.true_hz) + " at a sample rate of " +
                hertz(c.sample_rate_hz) + ": " + c.who;
  cause.ratio = c.ratio.to_string();
  cause.expected = Hertz(c.alias.frequency_hz.to_double());
  cause.residual = Ppm(c.residual_ppm);
  cause.evidence.push_back(
      alias_words(c.true_hz, c.alias, c.sample_rate_hz) + "; measured " +
      hertz_text(measured.value()) + ", where up to " +
      offset_text(c.allowed_ppm, c.allowed_ppm) + " off would fit.");
  cause.advice =
      "Sample at least three times as fast as the fastest clock that may be "
      "there, or route the clock out through a divider.";
  cause.settled_by = second_capture(c);
  cause.rank = 1;
  return cause;
}

}  // namespace clockassay
