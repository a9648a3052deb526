// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/verdict/source_group.h"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <numbers>

#include "clockassay/base/simplest_fraction.h"
#include "verdict/cause_weight.h"
#include "verdict/wording.h"

namespace clockassay {
namespace {

// Measured over expected, less one, in ppm.
double error_ppm(const MeasuredClock& clock) {
  const double expected = clock.spec->expect.frequency_hz.to_double();
  return (clock.frequency.value() - expected) / expected * 1e6;
}

// Of `a` against `b`, in ppm: what the source does drops out.
double difference_ppm(const MeasuredClock& a, const MeasuredClock& b) {
  const double ratio =
      (1.0 + error_ppm(a) * 1e-6) / (1.0 + error_ppm(b) * 1e-6);
  return (ratio - 1.0) * 1e6;
}

// Nearer to what is expected than so many U two sources may meet by chance.
// Chosen.
constexpr double kFarBeyond = 3.0;

// A slip of one of the two, and how far they are from it.
struct Apart {
  Rational slip{1};
  double ppm = 0.0;
};

// Slips are mostly of small numbers. Chosen: fractions of up to 8 lie 3000 ppm
// and less from a ratio that is drawn at random one time in nine.
constexpr std::int64_t kMostOfSlip = 8;

// The simplest slip that leaves what a load may move a crystal by, else none.
Apart apart(double difference) {
  const double ratio = 1.0 + difference * 1e-6;
  for (std::int64_t most = 1; most <= kMostOfSlip; ++most) {
    for (std::int64_t least = 1; least <= most; ++least) {
      for (const auto& slip :
           {Rational::make(most, least), Rational::make(least, most)}) {
        const double ppm = (ratio / slip->to_double() - 1.0) * 1e6;
        if (std::abs(ppm) <= kLoadBoundPpm) return {*slip, ppm};
      }
    }
  }
  return {Rational(1), difference};
}

double allowed_ppm(const MeasuredClock& a, const MeasuredClock& b) {
  return a.expanded_capture.value() + b.expanded_capture.value();
}

bool agree(const MeasuredClock& a, const MeasuredClock& b) {
  return std::abs(difference_ppm(a, b)) <= allowed_ppm(a, b);
}

bool is_right(const MeasuredClock& clock) {
  const ToleranceBand& make = clock.spec->tolerance.make;
  const double e = error_ppm(clock);
  const double U = clock.expanded.value();
  return e >= make.low_ppm.to_double() - U &&
         e <= make.high_ppm.to_double() + U;
}

// By name where one is given, else by frequency.
std::string source_of(const ClockSpec& clock) {
  return clock.source.value_or(hertz_text(clock.expect.source_hz.to_double()));
}

bool share_source(const ClockSpec& a, const ClockSpec& b) {
  if (a.source || b.source) return a.source == b.source;
  return a.expect.source_hz == b.expect.source_hz;
}

std::size_t shared_factors(const ClockPath& a, const ClockPath& b) {
  std::size_t count = 0;
  while (count < a.factors.size() && count < b.factors.size() &&
         a.factors[count].divides == b.factors[count].divides &&
         a.factors[count].value == b.factors[count].value) {
    ++count;
  }
  return count;
}

// Fractions with denominators up to q lie 3 q^2 / pi^2 to the unit (Farey): one
// of them is then met by chance that often within ±allowed.
bool is_hardly_chance(const Rational& fraction, double allowed) {
  constexpr double kChance = 0.05;
  const double q = std::max(Rational(1).to_double(),
                            std::max(static_cast<double>(fraction.den()),
                                     static_cast<double>(fraction.num())));
  constexpr double kPiSquared = std::numbers::pi * std::numbers::pi;
  return 3.0 * q * q / kPiSquared * 2.0 * allowed * 1e-6 <= kChance;
}

std::optional<Rational> exact_ratio(double difference, double allowed) {
  const double ratio = 1.0 + difference * 1e-6;
  const double reach = ratio * allowed * 1e-6;
  const auto fraction = simplest_fraction(ratio - reach, ratio + reach);
  if (!fraction || !is_hardly_chance(*fraction, allowed)) return std::nullopt;
  return fraction;
}

ClockPair pair_of(const MeasuredClock& clock, const MeasuredClock& against) {
  ClockPair pair;
  pair.clock = clock.spec->name;
  pair.against = against.spec->name;
  pair.expected =
      divide(clock.spec->expect.frequency_hz, against.spec->expect.frequency_hz)
          .value_or(Rational(0));
  pair.measured = clock.frequency / against.frequency;
  const double difference = difference_ppm(clock, against);
  pair.difference = Ppm(difference);
  pair.allowed = Ppm(allowed_ppm(clock, against));
  if (!agree(clock, against)) {
    pair.exact = exact_ratio(difference, pair.allowed.value());
  }
  return pair;
}

using Group = std::vector<const MeasuredClock*>;

// The least it may be off in the capture's own time.
double low_end(const MeasuredClock& clock) {
  return error_ppm(clock) - clock.expanded_capture.value();
}

// Those that may all be off by what `clock` may be at the least: intervals that
// overlap in pairs have a point in common, the greatest of their low ends. Each
// is held against all others, because two may agree with a third and not with
// each other.
Group in_agreement_at(const MeasuredClock& clock, const Group& group) {
  Group with;
  for (const MeasuredClock* c : group) {
    const bool agrees_with_all =
        agree(*c, clock) &&
        std::all_of(with.begin(), with.end(), [c](const MeasuredClock* other) {
          return agree(*c, *other);
        });
    if (low_end(*c) <= low_end(clock) && agrees_with_all) with.push_back(c);
  }
  return with;
}

// The largest part of the group that agrees among itself; empty where two such
// parts are as large.
Group majority_of(const Group& group) {
  Group best;
  bool is_only = true;
  for (const MeasuredClock* clock : group) {
    Group with = in_agreement_at(*clock, group);
    if (with.size() > best.size()) {
      best = with;
      is_only = true;
    } else if (with.size() == best.size() && with != best) {
      is_only = false;
    }
  }
  return is_only ? best : Group{};
}

std::vector<std::string> outside(const Group& group, const Group& sound) {
  std::vector<std::string> odd;
  for (const MeasuredClock* c : group) {
    if (std::find(sound.begin(), sound.end(), c) == sound.end()) {
      odd.push_back(c->spec->name);
    }
  }
  return odd;
}

// As far off as a load may take a crystal, and no slip of a path is needed.
bool is_near(const MeasuredClock& clock) {
  return std::abs(error_ppm(clock)) <= kUsualLoadPpm;
}

// Those outside the majority; without one those that are not right, if others
// are, or else those not even near.
std::vector<std::string> odd_of(const Group& group) {
  Group sound = majority_of(group);
  if (sound.size() * 2 > group.size()) return outside(group, sound);
  for (const auto is_sound : {is_right, is_near}) {
    sound.clear();
    std::copy_if(group.begin(), group.end(), std::back_inserter(sound),
                 [&](const MeasuredClock* c) { return is_sound(*c); });
    if (!sound.empty()) return outside(group, sound);
  }
  return {};
}

std::string listed(const std::vector<std::string>& names) {
  std::string list;
  for (std::size_t i = 0; i < names.size(); ++i) {
    if (i > 0) list += i + 1 == names.size() ? " and " : ", ";
    list += "\"" + names[i] + "\"";
  }
  return list;
}

std::string finding_of(const SourceGroup& group) {
  const auto widest = std::max_element(
      group.pairs.begin(), group.pairs.end(),
      [](const ClockPair& a, const ClockPair& b) {
        return std::abs(a.difference.value()) / a.allowed.value() <
               std::abs(b.difference.value()) / b.allowed.value();
      });
  const double allowed = widest->allowed.value();
  const std::string apart = offset_text(widest->difference.value(), allowed) +
                            " apart, where " + ppm_text(allowed, allowed) +
                            " ppm are not known";
  if (group.agree) {
    return listed(group.clocks) + " are off by one ratio (at most " + apart +
           "), as outputs of one source are.";
  }
  std::string text = "\"" + widest->clock + "\" and \"" + widest->against +
                     "\" are " + apart +
                     ": outputs of one source differ by nothing";
  if (widest->exact) {
    text += "; their ratio is " + widest->exact->to_string() +
            " of the expected one";
  }
  text += ". ";
  if (group.odd.empty()) {
    return text + "Which of them is wrong does not show.";
  }
  return text + (group.odd.size() == 1
                     ? "At fault is " + listed(group.odd) +
                           ", behind the point where it leaves the others."
                     : "At fault are " + listed(group.odd) +
                           ", behind the points where they leave the others.");
}

SourceGroup describe_group(const Group& group) {
  SourceGroup out;
  out.source = source_of(*group.front()->spec);
  out.nominal = Hertz(group.front()->spec->expect.source_hz.to_double());
  const MeasuredClock* best =
      *std::min_element(group.begin(), group.end(),
                        [](const MeasuredClock* a, const MeasuredClock* b) {
                          return a->expanded_capture < b->expanded_capture;
                        });
  out.agree = true;
  for (const MeasuredClock* clock : group) {
    out.clocks.push_back(clock->spec->name);
    if (clock == best) continue;
    out.pairs.push_back(pair_of(*clock, *best));
    out.agree = out.agree && agree(*clock, *best);
  }
  if (!out.agree) out.odd = odd_of(group);
  out.finding = finding_of(out);
  return out;
}

}  // namespace

std::vector<SourceGroup> group_by_source(
    std::span<const MeasuredClock> clocks) {
  std::vector<SourceGroup> groups;
  std::vector<bool> taken(clocks.size(), false);
  for (std::size_t i = 0; i < clocks.size(); ++i) {
    if (taken[i]) continue;
    Group group;
    for (std::size_t j = i; j < clocks.size(); ++j) {
      if (!share_source(*clocks[i].spec, *clocks[j].spec)) continue;
      taken[j] = true;
      group.push_back(&clocks[j]);
    }
    if (group.size() > 1) groups.push_back(describe_group(group));
  }
  return groups;
}

std::vector<OtherClock> others_of(std::span<const MeasuredClock> clocks,
                                  std::size_t index) {
  std::vector<OtherClock> others;
  const MeasuredClock& clock = clocks[index];
  for (std::size_t i = 0; i < clocks.size(); ++i) {
    if (i == index) continue;
    const MeasuredClock& other = clocks[i];
    const bool is_same = share_source(*clock.spec, *other.spec);
    const double difference = difference_ppm(clock, other);
    const Apart beyond_slip =
        is_same ? apart(difference) : Apart{1, difference};
    const double by_captures = allowed_ppm(clock, other);
    const bool coincides =
        !is_same && std::abs(difference) <= by_captures &&
        std::abs(error_ppm(other)) > kFarBeyond * other.expanded.value();
    const double allowed =
        by_captures +
        (is_same ? 0.0 : make_ppm(*clock.spec) + make_ppm(*other.spec));
    others.push_back({other.spec->name, is_same,
                      shared_factors(clock.spec->expect, other.spec->expect),
                      is_right(other), std::abs(difference) <= allowed,
                      Ppm(error_ppm(other)), Ppm(beyond_slip.ppm), Ppm(allowed),
                      other.spec->expect.frequency_hz, beyond_slip.slip,
                      coincides});
  }
  return others;
}

}  // namespace clockassay
