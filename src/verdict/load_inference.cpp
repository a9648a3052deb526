// SPDX-License-Identifier: GPL-3.0-or-later
#include "verdict/load_inference.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>

#include "clockassay/oscillator/capacitor_choice.h"
#include "clockassay/oscillator/crystal_load.h"
#include "clockassay/oscillator/typical_crystal.h"

namespace clockassay {
namespace {

constexpr double kPpm = 1e6;

// A board may do without capacitors so small. Chosen: little more than what a
// pin brings by itself.
constexpr Farads kHardlyAny(3e-12);

// What the load has to do where the crystal is off by `make_ppm` itself.
double pull_needed(double error_ppm, double make_ppm) {
  return (error_ppm - make_ppm) / (1.0 + make_ppm / kPpm);
}

// What the crystal is made to be off by at its nominal load, as far as is
// known: a make tolerance without zero in it says so by its middle.
double made_for_ppm(const ToleranceBand& make) {
  const double low = make.low_ppm.to_double();
  const double high = make.high_ppm.to_double();
  return low <= 0.0 && high >= 0.0 ? 0.0 : 0.5 * (low + high);
}

struct PullBand {
  double low;
  double high;
};

PullBand pull_band(const ToleranceBand& make, const MeasuredError& error) {
  return {
      pull_needed(error.ppm - error.expanded_ppm, make.high_ppm.to_double()),
      pull_needed(error.ppm + error.expanded_ppm, make.low_ppm.to_double())};
}

struct LoadBand {
  Farads low;
  std::optional<Farads> high;  // absent: unbounded
};

// The loads that pull by some of the band; absent: none does. What no load
// does lies above the parallel resonance (less than no load) where it is fast,
// below the series resonance (more than any) where it is slow.
std::optional<LoadBand> loads_for(const MotionalCrystal& crystal,
                                  Farads nominal, const PullBand& pull) {
  const auto most = load_after_pull(crystal, nominal, Ppm(pull.low));
  const auto least = load_after_pull(crystal, nominal, Ppm(pull.high));
  if (!most && pull.low > 0.0) return std::nullopt;
  if (!least && pull.high < 0.0) return std::nullopt;
  return LoadBand{least.value_or(Farads(0.0)), most};
}

// Leaves the crystals of the range that some load explains; sets what they see.
void infer_seen(CrystalRange& range, const PullBand& pull,
                LoadInference& inference) {
  double low = std::numeric_limits<double>::infinity();
  double high = 0.0;
  double slowest = 0.0;
  double fastest = 0.0;
  std::vector<MotionalCrystal> explained;
  for (const MotionalCrystal& crystal : range.outline) {
    const PullLimits limits = load_pull_limits(crystal, inference.nominal);
    slowest = std::min(slowest, limits.slowest.value());
    fastest = std::max(fastest, limits.fastest.value());
    const auto band = loads_for(crystal, inference.nominal, pull);
    if (!band) {
      // Between it and one that is pulled so far is one that just is so by no
      // load at all, or by any however large.
      if (pull.low > 0.0) low = 0.0;
      if (pull.high < 0.0) high = std::numeric_limits<double>::infinity();
      continue;
    }
    explained.push_back(crystal);
    low = std::min(low, band->low.value());
    high = std::max(high, band->high ? band->high->value()
                                     : std::numeric_limits<double>::infinity());
  }
  range.outline = std::move(explained);
  inference.slowest = Ppm(slowest);
  inference.fastest = Ppm(fastest);
  if (range.outline.empty()) {
    inference.outcome = LoadOutcome::kNeverTheLoad;
    return;
  }
  inference.outcome = pull.low <= 0.0 && pull.high >= 0.0
                          ? LoadOutcome::kConsistent
                          : LoadOutcome::kDiffers;
  inference.seen_low = Farads(low);
  if (std::isfinite(high)) inference.seen_high = Farads(high);
}

Farads stray_for(const CapacitorPair& pair, Farads load, bool per_pin) {
  return per_pin ? stray_per_pin_for(pair, load) : stray_across_for(pair, load);
}

Stray as_stray(Farads stray, bool per_pin) {
  return per_pin ? Stray{stray, stray, Farads(0.0)}
                 : Stray{Farads(0.0), Farads(0.0), stray};
}

CapacitorPair scaled(const CapacitorPair& pair, double factor) {
  return {factor * pair.a, factor * pair.b};
}

ImpliedStray implied_stray(const LoadSpec& load, const CapacitorPair& fitted,
                           const LoadInference& inference) {
  const double tolerance = inference.capacitor_tolerance;
  ImpliedStray stray;
  stray.per_pin = load.stray_per_pin.has_value();
  if (inference.seen) {
    stray.best = stray_for(fitted, *inference.seen, stray.per_pin);
  }
  stray.low = stray_for(scaled(fitted, 1.0 + tolerance), inference.seen_low,
                        stray.per_pin);
  if (inference.seen_high) {
    stray.high = stray_for(scaled(fitted, 1.0 - tolerance),
                           *inference.seen_high, stray.per_pin);
  }
  stray.stated = stray.per_pin ? load.stray_per_pin : load.stray_across;
  if (stray.stated) {
    stray.agrees_with_stated = *stray.stated >= stray.low &&
                               (!stray.high || *stray.stated <= *stray.high);
  }
  return stray;
}

// One pair of capacitors for another.
struct Exchange {
  CapacitorPair before;
  CapacitorPair after;
  bool per_pin = false;
  double tolerance = 0.0;
  Farads nominal;
};

Farads load_after(const Exchange& exchange, Farads seen) {
  const Stray stray = as_stray(
      stray_for(exchange.before, seen, exchange.per_pin), exchange.per_pin);
  return std::max(Farads(0.0), load_of(exchange.after, stray));
}

// The error after the exchange, of a crystal that is off by `make_ppm` itself.
// Where no load makes the error before, the nearest that physics allows.
double error_after(const Exchange& exchange, const MotionalCrystal& crystal,
                   double error_ppm, double make_ppm) {
  const double pull = pull_needed(error_ppm, make_ppm);
  const auto seen = load_after_pull(crystal, exchange.nominal, Ppm(pull));
  if (!seen && pull < 0.0) return error_ppm;  // an infinite load stays one
  const Farads before = seen.value_or(Farads(0.0));
  const double step =
      load_pull(crystal, before, load_after(exchange, before)).value();
  return error_ppm + step * (1.0 + error_ppm / kPpm);
}

// Standard uncertainty of the error after, by the tolerance of the capacitors:
// the old ones' too, because what they really are is taken for stray.
double capacitor_ppm(const Exchange& exchange, const MotionalCrystal& crystal,
                     Farads before) {
  const Stray stray = as_stray(
      stray_for(exchange.before, before, exchange.per_pin), exchange.per_pin);
  const LoadSpread old_spread =
      load_spread(exchange.before, stray, exchange.tolerance);
  const LoadSpread new_spread =
      load_spread(exchange.after, stray, exchange.tolerance);
  // The slope is steeper on the side of less load.
  const Farads after =
      std::max(Farads(0.0), load_after(exchange, before) - new_spread.worst);
  return std::abs(load_sensitivity_ppm_per_f(crystal, after)) *
         std::hypot(old_spread.standard.value(), new_spread.standard.value());
}

// U of the error after: that of the measurement as the crystal then follows
// it, and the capacitors.
double expanded_after(const Exchange& exchange, const MotionalCrystal& crystal,
                      const MeasuredError& error, double make_ppm) {
  const double middle = error_after(exchange, crystal, error.ppm, make_ppm);
  const double U = error.expanded_ppm;
  const double steepest =
      std::max(
          std::abs(error_after(exchange, crystal, error.ppm + U, make_ppm) -
                   middle),
          std::abs(error_after(exchange, crystal, error.ppm - U, make_ppm) -
                   middle)) /
      U;
  const auto seen = load_after_pull(crystal, exchange.nominal,
                                    Ppm(pull_needed(error.ppm, make_ppm)));
  const double capacitors =
      capacitor_ppm(exchange, crystal, seen.value_or(Farads(0.0)));
  const ErrorDistribution after{
      steepest * error.distribution.rectangle_half_width,
      std::hypot(steepest * error.distribution.normal_sigma, capacitors)};
  return expanded_half_width(after, error.coverage);
}

CapacitorFit predict(const Exchange& exchange, const CrystalRange& range,
                     const ToleranceBand& make, const MeasuredError& error) {
  CapacitorFit fit;
  fit.capacitors = exchange.after;
  const double aim = made_for_ppm(make);
  const double best = error_after(exchange, range.middle, error.ppm, aim);
  double low = best;
  double high = best;
  for (const MotionalCrystal& crystal : range.outline) {
    for (const double make_ppm :
         {make.low_ppm.to_double(), make.high_ppm.to_double()}) {
      const double after = error_after(exchange, crystal, error.ppm, make_ppm);
      const double U = expanded_after(exchange, crystal, error, make_ppm);
      low = std::min(low, after - U);
      high = std::max(high, after + U);
    }
  }
  fit.predicted = Ppm(best);
  fit.low = Ppm(low);
  fit.high = Ppm(high);
  fit.is_sure_to_help =
      std::max(aim - low, high - aim) < std::abs(error.ppm - aim);
  fit.is_within_limits =
      best >= make.low_ppm.to_double() && best <= make.high_ppm.to_double();
  return fit;
}

// What to choose from for the nominal load beside the stray implied.
CapacitorWish wish_for(const CapacitorPair& fitted,
                       const LoadInference& inference) {
  CapacitorWish wish;
  wish.load = inference.nominal;
  wish.stray = as_stray(*inference.stray->best, inference.stray->per_pin);
  wish.tolerance = inference.capacitor_tolerance;
  wish.fitted = fitted;
  wish.or_none = true;
  return wish;
}

// Sets what to fit of pairs that come nearer to the nominal load than what is
// fitted, best first.
void set_fits(std::vector<CapacitorFit> fits, LoadInference& inference) {
  if (fits.empty()) return;
  const auto miss = [&inference](const CapacitorFit& fit) {
    return std::abs((fit.predicted - inference.aim).value());
  };
  inference.fit = fits.front();
  if (miss(fits.back()) >= miss(fits.front())) return;
  // Equal legs are no use where they leave the clock outside.
  if (fits.back().is_within_limits && !fits.front().is_within_limits) {
    inference.fit = fits.back();
  } else {
    inference.closest = fits.back();
  }
}

// Sets what to fit instead, where a pair of the series helps.
void advise_capacitors(const CapacitorPair& fitted, const CrystalRange& range,
                       const ToleranceBand& make, const MeasuredError& error,
                       LoadInference& inference) {
  const ImpliedStray& stray = *inference.stray;
  if (!stray.best) return;
  // Other capacitors are fitted than stated, or it is not the load.
  if (stray.high && stray.high->value() < 0.0) return;
  const CapacitorWish wish = wish_for(fitted, inference);
  const auto choice = choose_capacitors(wish);
  if (!choice) return;
  const auto miss = [&wish](Farads load) {
    return std::abs((load - wish.load).value());
  };
  const auto prediction = [&](const CapacitorPair& pair) {
    return predict(
        {fitted, pair, stray.per_pin, wish.tolerance, inference.nominal}, range,
        make, error);
  };
  // Less nearer than this part of it is rounding.
  constexpr double kRounding = 1e-9;
  const double now = miss(*inference.seen) - kRounding * wish.load.value();
  std::vector<CapacitorFit> fits;
  for (const CapacitorPair& pair : {choice->preferred, choice->closest}) {
    if (miss(load_of(pair, wish.stray)) < now) fits.push_back(prediction(pair));
  }
  set_fits(std::move(fits), inference);
  const CapacitorPair none{Farads(0.0), Farads(0.0)};
  if (inference.fit && inference.fit->capacitors != none &&
      std::min(inference.fit->capacitors.a, inference.fit->capacitors.b) <=
          kHardlyAny) {
    inference.without = prediction(none);
  }
}

}  // namespace

const char* load_outcome_name(LoadOutcome outcome) {
  switch (outcome) {
    case LoadOutcome::kConsistent:
      return "consistent";
    case LoadOutcome::kDiffers:
      return "differs";
    case LoadOutcome::kNeverTheLoad:
      break;
  }
  return "never_the_load";
}

LoadInference infer_load(const LoadSpec& load, Hertz source,
                         const ToleranceBand& make,
                         const MeasuredError& error) {
  LoadInference inference;
  inference.nominal = load.nominal;
  inference.aim = Ppm(made_for_ppm(make));
  inference.fitted = load.capacitors;
  CrystalRange range = crystal_range(load.c0, load.c1, source);
  inference.assumed = range.assumed;
  infer_seen(range, pull_band(make, error), inference);
  if (inference.outcome == LoadOutcome::kNeverTheLoad) return inference;
  inference.seen =
      load_after_pull(range.middle, load.nominal,
                      Ppm(pull_needed(error.ppm, inference.aim.value())));
  if (!load.capacitors) return inference;
  inference.assumed.push_back("capacitors within 5 %");
  inference.stray = implied_stray(load, *load.capacitors, inference);
  if (inference.outcome == LoadOutcome::kDiffers) {
    advise_capacitors(*load.capacitors, range, make, error, inference);
  }
  return inference;
}

}  // namespace clockassay
