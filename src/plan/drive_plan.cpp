// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/plan/drive_plan.h"

#include <algorithm>

#include "clockassay/base/number_text.h"
#include "clockassay/oscillator/crystal_drive.h"
#include "clockassay/oscillator/typical_crystal.h"

namespace clockassay {
namespace {

// From memory: from noise to full swing the amplitude grows by e^9 to e^15.
constexpr double kFewestGrowths = 9.0;
constexpr double kMostGrowths = 15.0;

std::string picofarads(Farads c) {
  return number_text(c.value() * 1e12, 4) + " pF";
}

Result<OscillatorLegs> legs_of(const DrivePlanInput& input) {
  if (!input.legs) return equal_legs(input.load);
  OscillatorLegs legs{input.legs->a, input.legs->b};
  const Farads series = load_of_legs(legs);
  // Loads are worked out from legs to three digits: then nothing is from pin
  // to pin.
  constexpr double kRounding = 0.005;
  if (series > (1.0 + kRounding) * input.load) {
    return failure(ErrorCode::kUsage,
                   "--legs: found " + picofarads(legs.input) + " and " +
                       picofarads(legs.output) + ", " + picofarads(series) +
                       " in series, expected no more than the load, " +
                       picofarads(input.load),
                   "--load is what the crystal sees of them, with what is from "
                   "pin to pin added");
  }
  legs.across = std::max(Farads(0.0), input.load - series);
  return legs;
}

DriveWith drive_with(const DrivePlan& plan, Ohms resistor) {
  const Hertz f = plan.input.frequency;
  const Farads leg = plan.legs.output;
  const Ohms rl = leg_resistance(plan.input.r1, plan.input.c0, plan.legs);
  DriveWith drive;
  drive.resistor = resistor;
  drive.swing = series_resistor_ratio(f, resistor, rl, leg) * *plan.input.swing;
  drive.current_rms = crystal_current_rms(f, drive.swing, leg);
  drive.power = drive_power(rl, drive.current_rms);
  return drive;
}

// As the board is.
void add_excess(DrivePlan& plan, Ohms rl) {
  const DrivePlanInput& in = plan.input;
  const bool usual = !in.drive_limit;
  if (usual && !(in.frequency < kForksBelow)) return;
  const Watts power =
      (plan.with_fitted ? plan.with_fitted : plan.without)->power;
  const Watts limit = in.drive_limit.value_or(kForkDriveHigh);
  if (!(power > (usual ? kForkDriveLow : limit))) return;
  plan.excess =
      DriveExcess{power, limit, usual,
                  series_resistor_for(in.frequency, plan.without->power, limit,
                                      rl, plan.legs.output)};
}

void add_drive(DrivePlan& plan) {
  const DrivePlanInput& in = plan.input;
  const Farads leg = plan.legs.output;
  const Ohms rl = leg_resistance(in.r1, in.c0, plan.legs);
  plan.series_start = series_resistor_start(in.frequency, leg);
  if (in.drive_limit) {
    plan.limit_current_pp = largest_current(*in.drive_limit, rl);
    plan.limit_swing =
        swing_for_current(in.frequency, *plan.limit_current_pp, leg);
  }
  if (!in.swing) return;
  plan.without = drive_with(plan, Ohms(0.0));
  plan.with_start = drive_with(plan, plan.series_start);
  if (in.series_resistor) {
    plan.with_fitted = drive_with(plan, *in.series_resistor);
  }
  if (in.drive_limit) {
    plan.series_for_limit = series_resistor_for(
        in.frequency, plan.without->power, *in.drive_limit, rl, leg);
  }
  add_excess(plan, rl);
}

GainWith gain_with(const DrivePlan& plan, Ohms resistor) {
  const DrivePlanInput& in = plan.input;
  const OutputPath path{*in.output_resistance, resistor};
  GainWith gain;
  gain.resistor = resistor;
  gain.negative =
      negative_resistance_behind(in.frequency, *in.gm, in.c0, plan.legs, path);
  gain.safety_factor = gain.negative / in.r1;
  const auto critical =
      critical_behind(in.frequency, in.r1, *in.gm, in.c0, plan.legs, path);
  if (critical) gain.margin = *in.gm / *critical;
  return gain;
}

void add_gain_behind(DrivePlan& plan) {
  const DrivePlanInput& in = plan.input;
  if (!in.output_resistance) return;
  plan.gain_without = gain_with(plan, Ohms(0.0));
  plan.gain_with_start =
      gain_with(plan, series_resistor_start(in.frequency, plan.legs.output));
  if (in.series_resistor) {
    plan.gain_as_fitted = gain_with(plan, *in.series_resistor);
  }
}

void add_start_up(DrivePlan& plan) {
  const Ohms negative = board_gain(plan).negative;
  if (!(negative > plan.input.r1)) return;
  const CrystalRange range =
      crystal_range(plan.input.c0, plan.input.c1, plan.input.frequency);
  plan.c1_assumed = range.assumed;
  std::optional<StartUp> start;
  for (const MotionalCrystal& crystal : range.outline) {
    const Seconds growth =
        growth_time(motional_inductance(plan.input.frequency, crystal.c1),
                    plan.input.r1, negative);
    if (!start) start = StartUp{growth, growth, {}, {}};
    start->growth_low = std::min(start->growth_low, growth);
    start->growth_high = std::max(start->growth_high, growth);
  }
  start->shortest = kFewestGrowths * start->growth_low;
  start->longest = kMostGrowths * start->growth_high;
  plan.start_up = start;
}

void add_gain(DrivePlan& plan) {
  const DrivePlanInput& in = plan.input;
  plan.most_negative = most_negative_resistance(in.frequency, in.c0, plan.legs);
  plan.best = best_transconductance(in.frequency, in.c0, plan.legs);
  if (plan.most_negative > in.r1) {
    plan.critical =
        critical_transconductance(in.frequency, in.r1, in.c0, plan.legs);
    plan.asked_for = kUsualMargin * *plan.critical;
    plan.starts = starting_gain(in.frequency, in.r1, in.c0, plan.legs);
  }
  if (in.still_starts) {
    plan.measured_safety_factor = (*in.still_starts + plan.rl) / plan.rl;
  }
  if (!in.gm) return;
  plan.too_much_gain = *in.gm > plan.best;
  plan.negative = negative_resistance(in.frequency, *in.gm, in.c0, plan.legs);
  plan.safety_factor = *plan.negative / in.r1;
  if (plan.critical && (*plan.negative > in.r1 || *in.gm < *plan.critical)) {
    plan.margin = *in.gm / *plan.critical;
  }
  add_gain_behind(plan);
  add_start_up(plan);
}

void name_missing(DrivePlan& plan) {
  const DrivePlanInput& in = plan.input;
  std::vector<std::string>& missing = plan.missing;
  if (!in.gm) {
    missing.emplace_back(
        "--gm, the amplifier's transconductance, at its smallest: for margin, "
        "safety factor and start-up");
  }
  if (in.gm && !in.output_resistance) {
    missing.emplace_back(
        "--output-resistance of the amplifier: taken as ideal, without a "
        "resistor; margin, safety factor and start are at their best then");
  }
  if (!in.swing) {
    missing.emplace_back(
        "--swing at the output pin, at most the supply: for the drive");
  }
  if (!in.drive_limit) {
    missing.emplace_back(
        "--drive-limit of the crystal: for what the drive is held against");
  }
  if (!in.legs) {
    missing.emplace_back(
        "--legs, what is from each pin to ground: taken as two equal ones that "
        "are the load");
  }
  if (!in.c1 && in.gm) {
    missing.emplace_back("--c1: a typical range is used for the start-up");
  }
}

}  // namespace

BoardGain board_gain(const DrivePlan& plan) {
  if (plan.gain_as_fitted) {
    const GainWith& g = *plan.gain_as_fitted;
    return {BoardGainOf::kAsFitted, g.margin, g.safety_factor, g.negative};
  }
  if (plan.gain_without) {
    const GainWith& g = *plan.gain_without;
    return {BoardGainOf::kWithoutResistor, g.margin, g.safety_factor,
            g.negative};
  }
  return {BoardGainOf::kIdealAmplifier, plan.margin,
          plan.safety_factor.value_or(0.0), plan.negative.value_or(Ohms(0.0))};
}

Result<DrivePlan> plan_drive(const DrivePlanInput& input) {
  DrivePlan plan;
  plan.input = input;
  const auto legs = legs_of(input);
  if (!legs) return tl::unexpected(legs.error());
  plan.legs = *legs;
  plan.rl = load_resonance_resistance(input.r1, input.c0, input.load);
  add_gain(plan);
  add_drive(plan);
  plan.maybe_overtone = input.frequency >= kOvertonesFrom;
  name_missing(plan);
  return plan;
}

}  // namespace clockassay
