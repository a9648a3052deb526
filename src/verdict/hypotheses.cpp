// SPDX-License-Identifier: GPL-3.0-or-later
#include "verdict/hypotheses.h"

#include <cmath>
#include <optional>
#include <utility>

#include "clockassay/oscillator/path_neighbours.h"
#include "verdict/wording.h"

namespace clockassay {
namespace {

// The same factors behind another source.
ClockPath with_source(const ClockPath& path, const Suspect& suspect) {
  ClockPath changed = path;
  changed.source_hz = suspect.frequency_hz;
  changed.source_text = hertz_text(suspect.frequency_hz.to_double());
  return changed;
}

CauseCode path_code(PathNeighbourKind kind) {
  switch (kind) {
    case PathNeighbourKind::kOneMore:
    case PathNeighbourKind::kOneLess:
    case PathNeighbourKind::kTwoOneMore:
      return CauseCode::kOffByOne;
    case PathNeighbourKind::kFactorMissing:
      return CauseCode::kFactorMissing;
    case PathNeighbourKind::kFactorTwice:
      return CauseCode::kFactorTwice;
    case PathNeighbourKind::kDoubled:
      return CauseCode::kPathDoubled;
    case PathNeighbourKind::kHalved:
      break;
  }
  return CauseCode::kPathHalved;
}

// What of the path a neighbour got wrong, as advice.
std::string path_advice(PathNeighbourKind kind) {
  switch (kind) {
    case PathNeighbourKind::kOneMore:
    case PathNeighbourKind::kOneLess:
    case PathNeighbourKind::kTwoOneMore:
      return "Compare the register value with the reference manual: many "
             "dividers and timers count to n - 1, so n is written where "
             "n - 1 is meant, or one is subtracted twice.";
    case PathNeighbourKind::kFactorMissing:
    case PathNeighbourKind::kFactorTwice:
      return "Read the clock registers back on the board: a prescaler or "
             "multiplier was left at its reset value, is bypassed, or is "
             "applied in two places.";
    case PathNeighbourKind::kDoubled:
    case PathNeighbourKind::kHalved:
      return "Check whether the timer toggles the pin or pulses it (a toggle "
             "halves the rate), prescalers of two, the doubling of timer "
             "clocks behind a bus prescaler, and whether the capture holds "
             "both edges.";
  }
  return "";
}

std::string path_settled_by() {
  return "change that setting by one step: the pin must move by exactly the "
         "ratio predicted; a clock of the same source that does not pass "
         "through it stays right";
}

void append_suspects(const ClockSpec& clock,
                     const std::vector<Suspect>& suspects,
                     std::vector<Hypothesis>& list) {
  for (const Suspect& suspect : suspects) {
    const std::optional<Rational> ratio =
        divide(suspect.frequency_hz, clock.expect.source_hz);
    const std::optional<Rational> frequency =
        divide(suspect.frequency_hz, clock.expect.source_over_frequency);
    if (!ratio || !frequency) continue;
    Hypothesis h;
    h.cause = "the clock comes from " + suspect.name + " (" +
              hertz_text(suspect.frequency_hz.to_double()) + ")";
    h.expression = clock_path_expression(with_source(clock.expect, suspect));
    h.ratio = *ratio;
    h.frequency_hz = *frequency;
    h.source_ppm = suspect.tolerance_ppm;
    h.from_suspect = true;
    h.advice = source_advice();
    h.settled_by = source_settled_by();
    list.push_back(std::move(h));
  }
}

void append_neighbours(const ClockSpec& clock,
                       const std::vector<PathNeighbour>& neighbours,
                       std::vector<Hypothesis>& list) {
  for (const PathNeighbour& n : neighbours) {
    Hypothesis h;
    h.code = path_code(n.kind);
    h.cause = n.description;
    h.expression = n.expression;
    h.ratio = n.ratio;
    h.frequency_hz = n.frequency_hz;
    h.source_ppm = clock.tolerance.make;
    h.factor = n.factor;
    h.advice = path_advice(n.kind);
    h.settled_by = path_settled_by();
    list.push_back(std::move(h));
  }
}

void append_both(const ClockSpec& clock, const std::vector<Suspect>& suspects,
                 const std::vector<PathNeighbour>& neighbours,
                 std::vector<Hypothesis>& list) {
  for (const Suspect& suspect : suspects) {
    const std::optional<Rational> change =
        divide(suspect.frequency_hz, clock.expect.source_hz);
    if (!change || *change == Rational(1)) continue;
    for (const PathNeighbour& n : neighbours) {
      const std::optional<Rational> ratio = multiply(n.ratio, *change);
      const std::optional<Rational> frequency =
          multiply(n.frequency_hz, *change);
      if (!ratio || !frequency) continue;
      Hypothesis h;
      h.code = CauseCode::kOtherSourceAndPath;
      h.cause = "the clock comes from " + suspect.name + " (" +
                hertz_text(suspect.frequency_hz.to_double()) + "), and " +
                n.description;
      ClockPath path = with_source(clock.expect, suspect);
      path.factors = n.factors;
      h.expression = clock_path_expression(path);
      h.ratio = *ratio;
      h.path_ratio = n.ratio;
      h.frequency_hz = *frequency;
      h.source_ppm = suspect.tolerance_ppm;
      h.slips = 2;
      h.factor = n.factor;
      h.from_suspect = true;
      h.advice = source_advice() + " " + path_advice(n.kind);
      h.settled_by = source_settled_by();
      list.push_back(std::move(h));
    }
  }
}

// A divider that takes turns between n and n + 1 with this lower n.
std::optional<Hypothesis> in_turns(const ClockSpec& clock, std::size_t index,
                                   const Rational& lower) {
  const Rational n = clock.expect.factors[index].value;
  const auto upper = add(lower, 1);
  const auto both = upper ? add(lower, *upper) : std::nullopt;
  const auto twice = multiply(n, 2);
  const auto ratio = both && twice ? divide(*twice, *both) : std::nullopt;
  const auto frequency =
      ratio ? multiply(clock.expect.frequency_hz, *ratio) : std::nullopt;
  if (!frequency) return std::nullopt;
  Hypothesis h;
  h.code = CauseCode::kOffByOne;
  h.cause = "divider " + n.to_string() + " counted as " + lower.to_string() +
            " and " + upper->to_string() + " in turns";
  h.expression = expression_times(clock.expect, *ratio);
  h.ratio = *ratio;
  h.frequency_hz = *frequency;
  h.source_ppm = clock.tolerance.make;
  h.factor = index;
  h.advice = path_advice(PathNeighbourKind::kOneMore);
  h.settled_by = path_settled_by();
  return h;
}

}  // namespace

std::string expression_times(const ClockPath& path, const Rational& ratio) {
  return clock_path_expression(path) + " * (" + ratio.to_string() + ")";
}

void append_in_turns(const ClockSpec& clock, const Jitter& jitter,
                     Hertz frequency, std::optional<Seconds> window,
                     std::vector<Hypothesis>& list) {
  // Two lengths in turns give 2; edges that jitter by themselves give the root
  // of 3. Chosen: near enough to 2 to be none of these.
  constexpr double kInTurns = 1.9;
  if (!window || !jitter.cycle_to_cycle_rms || !jitter.period_rms) return;
  const double apart = jitter.cycle_to_cycle_rms->value();
  if (apart < 2.0 * window->value() ||
      apart < kInTurns * jitter.period_rms->value()) {
    return;
  }
  for (std::size_t i = 0; i < clock.expect.factors.size(); ++i) {
    const PathFactor& factor = clock.expect.factors[i];
    if (!factor.divides || !factor.value.is_integer()) continue;
    for (const int below : {0, 1}) {
      const auto lower = subtract(factor.value, below);
      if (!lower || *lower < Rational(2)) continue;
      const double one = 1.0 / (frequency.value() * (lower->to_double() + 0.5));
      // An edge is known to a window; jitter adds to what is seen. Chosen.
      constexpr double kOfStep = 0.1;
      if (std::abs(apart - one) > kOfStep * one + window->value()) continue;
      auto h = in_turns(clock, i, *lower);
      if (!h) continue;
      h->seen = "Periods come in two lengths in turns, " +
                number_text(apart * 1e9, 4) + " ns apart.";
      list.push_back(*std::move(h));
    }
  }
}

std::string source_advice() {
  return "Check which oscillator the firmware selects (clock source, "
         "oscillator-ready flag, fall-back after a failed start) and which "
         "part is fitted; then set dividers and multipliers for the source "
         "that really runs, within the limits of the data sheet.";
}

std::string source_settled_by() {
  return "measure a second output of the same source with another divider: "
         "it must be off by the same ratio";
}

std::vector<Hypothesis> make_hypotheses(const ClockSpec& clock,
                                        const std::vector<Suspect>& suspects) {
  std::vector<Hypothesis> list;
  append_suspects(clock, suspects, list);
  const Result<std::vector<PathNeighbour>> neighbours =
      path_neighbours(clock.expect);
  if (neighbours) {
    append_neighbours(clock, *neighbours, list);
    append_both(clock, suspects, *neighbours, list);
  }
  return list;
}

}  // namespace clockassay
