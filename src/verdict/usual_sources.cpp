// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <cmath>
#include <iterator>
#include <string>
#include <utility>

#include "verdict/hypotheses.h"
#include "verdict/wording.h"

// The lists are common practice, no source, where none is named.
namespace clockassay {
namespace {

ToleranceBand plus_minus(std::int64_t ppm) {
  return {-ppm, ppm};
}

// Values crystals are sold at.
constexpr std::int64_t kUsualCrystals[] = {
    32'768,     1'000'000,  1'843'200,  2'000'000,   2'457'600,  3'276'800,
    3'579'545,  3'686'400,  4'000'000,  4'096'000,   4'194'304,  4'433'619,
    4'915'200,  5'000'000,  6'000'000,  6'144'000,   7'372'800,  8'000'000,
    8'192'000,  9'830'400,  10'000'000, 11'059'200,  11'289'600, 12'000'000,
    12'288'000, 13'000'000, 13'560'000, 14'318'180,  14'745'600, 16'000'000,
    16'384'000, 16'934'400, 18'000'000, 18'432'000,  19'200'000, 19'660'800,
    20'000'000, 22'118'400, 22'579'200, 24'000'000,  24'576'000, 25'000'000,
    26'000'000, 27'000'000, 27'120'000, 28'636'360,  30'000'000, 32'000'000,
    32'768'000, 33'000'000, 36'000'000, 36'864'000,  37'400'000, 38'400'000,
    40'000'000, 48'000'000, 49'152'000, 50'000'000,  52'000'000, 54'000'000,
    60'000'000, 66'000'000, 80'000'000, 100'000'000, 125'000'000};

// What an unnamed crystal may be off: make, load and temperature of one that
// was not meant for the board.
constexpr std::int64_t kCrystalPpm = 150;

// Values RC oscillators inside microcontrollers are trimmed to.
constexpr std::int64_t kUsualRc[] = {
    32'000,     32'768,     40'000,     1'000'000,  2'000'000,  4'000'000,
    4'194'304,  8'000'000,  12'000'000, 14'000'000, 16'000'000, 20'000'000,
    24'000'000, 32'000'000, 48'000'000, 64'000'000, 80'000'000};

// Data sheets read for docs/verdict.md: 1 to 7 % over temperature; at room
// temperature the lower half.
constexpr std::int64_t kRcPpm = 30'000;

// A ceramic resonator: make, temperature and ten years together, 1.1 % (a
// maker's comparison in a public post).
constexpr std::int64_t kCeramicPpm = 11'000;

// From here on a source is none a watch crystal is.
constexpr std::int64_t kSlowSourceHz = 1'000'000;

constexpr std::int64_t kWatchHz = 32'768;

// Near but not exactly a third: overtones are not harmonics. From memory, to
// about 0.1 %.
constexpr std::int64_t kOvertonePpm = 2'000;

struct Mistake {
  CauseCode code;
  std::int64_t numerator;
  std::int64_t denominator;
  const char* words;
};

constexpr Mistake kNumbers[] = {
    {CauseCode::kNumberMixedUp, 128, 125, "1000 where 1024 is meant"},
    {CauseCode::kNumberMixedUp, 125, 128, "1024 where 1000 is meant"},
    {CauseCode::kNumberMixedUp, 1000, 1001, "the 1000/1001 of video rates"},
    {CauseCode::kNumberMixedUp, 1001, 1000, "the 1001/1000 of video rates"},
    {CauseCode::kNumberMixedUp, 147, 160,
     "44.1 kHz where the 48 kHz family is meant"},
    {CauseCode::kNumberMixedUp, 160, 147,
     "48 kHz where the 44.1 kHz family is meant"},
    {CauseCode::kPrescaler, 4, 1, "a prescaler of 4 that is not applied"},
    {CauseCode::kPrescaler, 8, 1, "a prescaler of 8 that is not applied"},
    {CauseCode::kPrescaler, 16, 1, "a prescaler of 16 that is not applied"},
    {CauseCode::kPrescaler, 1, 4, "a prescaler of 4 too many"},
    {CauseCode::kPrescaler, 1, 8, "a prescaler of 8 too many"},
    {CauseCode::kPrescaler, 1, 16, "a prescaler of 16 too many"},
};

// Rate or unit of the file over the real one.
constexpr std::pair<std::int64_t, std::int64_t> kRates[] = {
    {2, 1},   {1, 2},   {5, 1},   {1, 5},   {10, 1},   {1, 10},  {4, 1},
    {1, 4},   {5, 2},   {2, 5},   {5, 4},   {4, 5},    {24, 25}, {25, 24},
    {12, 10}, {10, 12}, {100, 1}, {1, 100}, {1000, 1}, {1, 1000}};

// Behind the path as intended: a source of that frequency.
std::optional<Hypothesis> on_path(const ClockSpec& clock,
                                  const Rational& source_hz) {
  const auto ratio = divide(source_hz, clock.expect.source_hz);
  const auto frequency = divide(source_hz, clock.expect.source_over_frequency);
  if (!ratio || !frequency) return std::nullopt;
  Hypothesis h;
  ClockPath path = clock.expect;
  path.source_text = hertz_text(source_hz.to_double());
  h.expression = clock_path_expression(path);
  h.ratio = *ratio;
  h.frequency_hz = *frequency;
  h.advice = source_advice();
  h.settled_by = source_settled_by();
  return h;
}

bool is_suspected(const std::vector<Suspect>& suspects, const Rational& hertz,
                  bool crystal) {
  constexpr std::int64_t kWidestCrystalPpm = 1000;
  return std::any_of(suspects.begin(), suspects.end(), [&](const Suspect& s) {
    return s.frequency_hz == hertz &&
           (s.tolerance_ppm.high_ppm <= Rational(kWidestCrystalPpm)) == crystal;
  });
}

void append_crystals(const ClockSpec& clock,
                     const std::vector<Suspect>& suspects,
                     std::vector<Hypothesis>& list) {
  for (const std::int64_t hertz : kUsualCrystals) {
    if (Rational(hertz) == clock.expect.source_hz ||
        is_suspected(suspects, hertz, true)) {
      continue;
    }
    auto h = on_path(clock, hertz);
    if (!h) continue;
    h->code = CauseCode::kOtherCrystal;
    h->cause = "a crystal of " + hertz_text(static_cast<double>(hertz)) +
               " is fitted or selected";
    h->source_ppm = plus_minus(kCrystalPpm);
    list.push_back(*std::move(h));
  }
}

// Set-ups differ in what runs more than in what is meant to run. Chosen.
constexpr double kSameValue = 0.3;

constexpr const char* kWarmIt =
    "warm the chip a little with a hand-warm source: an RC oscillator moves by "
    "some hundred ppm per kelvin, a crystal by less than one";

void append_rc(const ClockSpec& clock, const std::vector<Suspect>& suspects,
               std::vector<Hypothesis>& list) {
  for (const std::int64_t hertz : kUsualRc) {
    if (is_suspected(suspects, hertz, false)) continue;
    auto h = on_path(clock, hertz);
    if (!h) continue;
    h->code = CauseCode::kRcOscillator;
    h->cause = "the clock comes from an RC oscillator of " +
               hertz_text(static_cast<double>(hertz));
    h->source_ppm = plus_minus(kRcPpm);
    h->settled_by = kWarmIt;
    if (Rational(hertz) == clock.expect.source_hz) h->share = kSameValue;
    list.push_back(*std::move(h));
  }
  if (is_suspected(suspects, clock.expect.source_hz, false)) return;
  auto h = on_path(clock, clock.expect.source_hz);
  if (!h) return;
  h->code = CauseCode::kRcOscillator;
  h->cause =
      "a ceramic resonator or a trimmed RC oscillator in place of the crystal";
  h->source_ppm = plus_minus(kCeramicPpm);
  h->share = kSameValue;
  h->settled_by = kWarmIt;
  list.push_back(*std::move(h));
}

void append_watch_loop(const ClockSpec& clock, std::vector<Hypothesis>& list) {
  const double source = clock.expect.source_hz.to_double();
  if (source < static_cast<double>(kSlowSourceHz)) return;
  const auto multiple =
      static_cast<std::int64_t>(std::llround(source / double{kWatchHz}));
  auto h = on_path(clock, multiple * kWatchHz);
  if (!h || h->ratio == Rational(1)) return;
  h->code = CauseCode::kLoopOnWatchCrystal;
  h->cause = "the source is a loop locked to " + std::to_string(multiple) +
             " times 32.768 kHz";
  h->source_ppm = plus_minus(kCrystalPpm);
  list.push_back(*std::move(h));
}

std::optional<Hypothesis> off_by(const ClockSpec& clock, std::int64_t numerator,
                                 std::int64_t denominator) {
  const auto ratio = Rational::make(numerator, denominator);
  const auto frequency =
      ratio ? multiply(clock.expect.frequency_hz, *ratio) : std::nullopt;
  if (!frequency) return std::nullopt;
  Hypothesis h;
  h.expression =
      clock_path_expression(clock.expect) + " * " +
      (denominator == 1 ? ratio->to_string() : "(" + ratio->to_string() + ")");
  h.ratio = *ratio;
  h.frequency_hz = *frequency;
  h.source_ppm = clock.tolerance.make;
  return h;
}

// Sources of video clocks: the colour burst's, and what line rates are made of.
constexpr std::int64_t kVideoHz[] = {
    3'579'545,  4'433'619,  13'500'000, 14'318'180, 17'734'475,
    27'000'000, 28'636'360, 54'000'000, 74'250'000, 148'500'000};

// 999 ppm is a resonator's or a load's as well: 1000/1001 needs a reason.
bool is_out_of_place(const Mistake& mistake, const ClockSpec& clock) {
  constexpr std::int64_t kVideo = 1001;
  if (mistake.numerator != kVideo && mistake.denominator != kVideo) {
    return false;
  }
  return std::none_of(std::begin(kVideoHz), std::end(kVideoHz),
                      [&](std::int64_t hertz) {
                        return clock.expect.source_hz == Rational(hertz);
                      });
}

void append_numbers(const ClockSpec& clock, std::vector<Hypothesis>& list) {
  // Chosen: a tenth of an equal part of the six.
  constexpr double kOutOfPlace = 0.1 / 6.0;
  for (const Mistake& m : kNumbers) {
    auto h = off_by(clock, m.numerator, m.denominator);
    if (!h) continue;
    h->code = m.code;
    h->cause = m.words;
    if (is_out_of_place(m, clock)) h->share = kOutOfPlace;
    h->factor = 0;
    h->advice =
        "Read the clock registers back on the board and follow each number "
        "from the source on.";
    h->settled_by =
        "measure a clock of the same source that does not pass through it: it "
        "stays right";
    list.push_back(*std::move(h));
  }
}

void append_overtones(const ClockSpec& clock, std::vector<Hypothesis>& list) {
  const auto add = [&](std::int64_t numerator, std::int64_t denominator,
                       const char* words, const char* advice) {
    auto h = off_by(clock, numerator, denominator);
    if (!h) return;
    h->code = CauseCode::kOvertone;
    h->cause = words;
    h->source_ppm = plus_minus(kOvertonePpm);
    h->advice = advice;
    h->settled_by =
        "measure another output of this crystal: it must be off alike";
    list.push_back(*std::move(h));
  };
  add(1, 3, "an overtone crystal runs on its fundamental",
      "An overtone part needs a circuit that suppresses the fundamental: fit "
      "that, or a crystal cut for the fundamental.");
  add(3, 1, "a crystal runs on its third overtone",
      "The circuit has gain at three times the frequency and too little loss: "
      "fit the series resistor the oscillator asks for.");
}

void append_polarity(const ClockSpec& clock, std::vector<Hypothesis>& list) {
  auto h = off_by(clock, 1, 2);
  if (!h) return;
  h->code = CauseCode::kEdgesMiscounted;
  h->cause = "the file holds edges of one polarity only, or every other pulse";
  h->factor = clock.expect.factors.size();
  h->advice =
      "Export every change of level, and look at the signal at the threshold.";
  h->settled_by = "capture the pin at a higher rate with all changes written";
  list.push_back(*std::move(h));
}

void append_rates(const ClockSpec& clock, std::vector<Hypothesis>& list) {
  for (const auto& [numerator, denominator] : kRates) {
    auto h = off_by(clock, numerator, denominator);
    if (!h) continue;
    h->code = CauseCode::kWrongSampleRate;
    h->cause = "the file's sample rate or unit of time is " +
               h->ratio.to_string() + " times the real one";
    h->advice =
        "Compare the rate set at the instrument with the one in the file, and "
        "the unit of its time column; state the real one with --sample-rate.";
    h->settled_by =
        "capture a clock of known frequency the same way: it is off alike";
    list.push_back(*std::move(h));
  }
}

}  // namespace

void append_usual(const ClockSpec& clock, const std::vector<Suspect>& suspects,
                  std::vector<Hypothesis>& list) {
  append_crystals(clock, suspects, list);
  append_rc(clock, suspects, list);
  append_watch_loop(clock, list);
  append_numbers(clock, list);
  append_overtones(clock, list);
  append_polarity(clock, list);
  append_rates(clock, list);
}

}  // namespace clockassay
