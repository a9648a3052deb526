// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/plan_option_parts.h"
#include "app/plan_options.h"
#include "clockassay/analysis/instrument.h"
#include "clockassay/base/decimal.h"
#include "clockassay/base/quantity_text.h"
#include "clockassay/oscillator/clock_path.h"
#include "clockassay/uncertainty/reference.h"

namespace clockassay {

void ask_for(OptionReader& reader, std::string_view name,
             const std::string& what) {
  if (!reader.given().has(name)) {
    reader.refuse(name, "is needed: " + what);
  }
}

void refuse_others(OptionReader& reader, std::string_view command) {
  const OptionValues& given = reader.given();
  if (given.others.empty()) return;
  reader.refuse(
      command, "found \"" + given.others.front() + "\", expected only options");
}

namespace {

void read_time_of_capture(OptionReader& reader, CapturePlanInput& in) {
  if (const auto jitter = reader.time("--jitter")) {
    in.jitter = Seconds(jitter->to_double());
    const std::string text = *reader.given().one("--jitter");
    // No clock's edge jitters by its period: picoseconds were meant.
    const double period = 1.0 / in.expect.frequency_hz.to_double();
    if (parse_decimal(text) && in.jitter->value() >= period) {
      reader.refuse("--jitter",
                    "found \"" + text + "\", which is " + text + " s",
                    "write the unit: " + text + "ps or " + text + "ns");
    }
  }
  const auto duration = reader.time("--duration");
  if (!duration) return;
  in.duration = Seconds(duration->to_double());
  // Chosen: a year.
  constexpr double kLongest = 3.2e7;
  if (!(in.duration->value() > 0.0) || in.duration->value() > kLongest) {
    reader.refuse("--duration", "found " + *reader.given().one("--duration") +
                                    ", expected more than 0, at most a year");
  }
}

// "30%" or "45%..55%".
std::optional<DutyRange> duty_range(OptionReader& reader) {
  const auto text = reader.given().one("--duty");
  if (!text) return std::nullopt;
  const std::size_t dots = text->find("..");
  const auto low = parse_share(text->substr(0, dots));
  const auto high =
      dots == std::string::npos ? low : parse_share(text->substr(dots + 2));
  if (low && high && low->sign() > 0 && *low <= *high && *high < Rational(1)) {
    return DutyRange{low->to_double(), high->to_double()};
  }
  reader.refuse("--duty",
                "found \"" + *text +
                    "\", expected more than 0 and less than 100%, the lower "
                    "end first",
                "for example 50% or 45%..55%");
  return std::nullopt;
}

void read_reference_tolerance(OptionReader& reader, CapturePlanInput& in) {
  const auto band =
      read_by<ToleranceBand>(reader, "--reference-tolerance", parse_tolerance);
  if (!band) return;
  if (band->low_ppm.to_double() != -band->high_ppm.to_double()) {
    reader.refuse("--reference-tolerance",
                  "found unequal limits, expected one size", "such as 0.1ppm");
  }
  in.reference_tolerance = Ppm(band->high_ppm.to_double());
}

// Its channel plays no part before there is a capture.
std::optional<ReferenceClock> read_reference(OptionReader& reader) {
  auto reference =
      read_by<ReferenceClock>(reader, "--reference", parse_reference);
  if (reference && reference->tolerance_ppm &&
      reader.given().has("--reference-tolerance")) {
    reader.refuse("--reference-tolerance",
                  "found beside the tolerance in --reference " +
                      *reader.given().one("--reference"),
                  "state it once");
  }
  return reference;
}

CapturePlanInput read_capture(OptionReader& reader) {
  CapturePlanInput in;
  ask_for(reader, "--expect",
          "the frequency, exact: 12MHz, or the clock path 24MHz / 2");
  ask_for(reader, "--tolerance", "how far off is allowed, such as 30ppm");
  ask_for(reader, "--sample-rate", "of the instrument, such as 24MS/s");
  if (const auto path =
          read_by<ClockPath>(reader, "--expect", parse_clock_path)) {
    in.expect = *path;
  }
  if (const auto band =
          read_by<ToleranceBand>(reader, "--tolerance", parse_tolerance)) {
    in.tolerance = *band;
  }
  if (const auto timebase =
          read_by<Timebase>(reader, "--timebase", parse_timebase)) {
    in.timebase = *timebase;
  }
  read_reference_tolerance(reader, in);
  const auto rate = reader.sample_rate("--sample-rate");
  in.sample_rate_hz = rate.value_or(in.sample_rate_hz);
  if (rate && (*rate < *Rational::make(1, 1000) ||
               *rate > Rational(1'000'000'000'000'000))) {
    reader.refuse("--sample-rate",
                  "found " + *reader.given().one("--sample-rate") +
                      ", expected between 0.001 Hz and 1000000 GHz");
  }
  read_time_of_capture(reader, in);
  in.duty = duty_range(reader);
  read_coverage(reader, in.coverage);
  refuse_others(reader, "plan capture");
  return in;
}

}  // namespace

void take_reference(const ReferenceClock& reference, CapturePlanInput& input) {
  input.reference_hz = reference.frequency_hz;
  if (input.reference_tolerance) return;
  input.reference_tolerance = reference_tolerance(reference);
  input.reference_assumed = !reference.tolerance_ppm.has_value();
}

CapturePlanInput read_capture_plan(OptionReader& reader) {
  CapturePlanInput input = read_capture(reader);
  if (const auto reference = read_reference(reader)) {
    take_reference(*reference, input);
  }
  return input;
}

}  // namespace clockassay
