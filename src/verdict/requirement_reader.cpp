// SPDX-License-Identifier: GPL-3.0-or-later
#include "verdict/requirement_reader.h"

#include <algorithm>
#include <array>
#include <cstddef>
#include <iterator>
#include <optional>
#include <string>
#include <utility>

#include "clockassay/oscillator/can_tolerance.h"
#include "clockassay/oscillator/requirements.h"
#include "clockassay/oscillator/time_keeping.h"
#include "clockassay/oscillator/uart_tolerance.h"
#include "verdict/wording.h"

namespace clockassay {
namespace {

tl::unexpected<Error> refuse_unknown(std::string_view id) {
  const std::string_view nearest = nearest_requirement_id(id);
  if (!nearest.empty()) {
    return refuse_requirement(id, "there is none of that id",
                              "did you mean \"" + std::string(nearest) + "\"?");
  }
  std::string known = "known are";
  for (const Requirement& row : requirements()) {
    known += (known.ends_with("are") ? " " : ", ") + std::string(row.id);
  }
  return refuse_requirement(id, "there is none of that id", known);
}

std::string source_of(const Requirement& row) {
  std::string source(row.standard);
  if (!row.clause.empty()) source += " " + std::string(row.clause);
  return source;
}

RequirementAsked asked_of(const Requirement& row,
                          const std::optional<ToleranceBand>& limits) {
  RequirementAsked asked = {std::string(row.id), std::string(row.title), limits,
                            source_of(row), row.may_decide};
  if (row.nominal_hz) asked.nominal_hz = Rational(*row.nominal_hz);
  asked.duty = row.duty;
  return asked;
}

// A limit that was worked out, to a tenth of a ppm: inwards, so that nothing is
// allowed that is not. Small ones stay as they are.
Rational rounded_down(const Rational& ppm) {
  const bool is_small = ppm < Rational(10) && ppm > Rational(-10);
  const std::optional<Rational> tenths = multiply(ppm, 10);
  if (is_small || !tenths) return ppm;
  Int128 whole = tenths->num() / tenths->den();
  if (whole * tenths->den() > tenths->num()) --whole;
  return Rational::make(whole, 10).value_or(ppm);
}

Rational negative(const Rational& ppm) {
  return *subtract(0, ppm);
}

ToleranceBand inwards(const ToleranceBand& band) {
  return {negative(rounded_down(negative(band.low_ppm))),
          rounded_down(band.high_ppm)};
}

ToleranceBand both_ways(const Rational& ppm) {
  return inwards({negative(ppm), ppm});
}

RequirementSetUp bit_timing() {
  return {"this bit timing",
          "Set more time quanta to a bit with longer phase buffers, and a "
          "longer resynchronisation jump width, or choose a source with a "
          "tighter tolerance."};
}

RequirementSetUp link_set_up(const Rational& divisor_error_ppm) {
  return {"the far end and the length of the frame",
          "Choose a far end with a better clock, a shorter frame, or a source "
          "with a tighter tolerance.",
          divisor_error_ppm};
}

// What is wrong with the values together, told as of this requirement.
tl::unexpected<Error> refuse_values(const Requirement& row,
                                    const Error& error) {
  return refuse_requirement(row.id, error.message, error.hint);
}

template <std::size_t kCount>
Result<std::array<Rational, kCount>> read_numbers(
    const ParameterReader& reader, const std::string_view (&names)[kCount]) {
  std::array<Rational, kCount> values;
  for (std::size_t i = 0; i < kCount; ++i) {
    const Result<Rational> value = reader.number(names[i]);
    if (!value) return tl::unexpected<Error>(value.error());
    values[i] = *value;
  }
  return values;
}

Result<RequirementAsked> resolve_can_classic(
    const Requirement& row, const RequirementParameters& parameters) {
  constexpr std::string_view kNames[] = {"sjw", "tbit", "pb1", "pb2"};
  const auto reader = ParameterReader::open(
      {row.id,
       kNames,
       {},
       "sjw 1, tbit 16, pb1 5, pb2 4, all in time quanta, or 62.5ns, 1us, "
       "312.5ns, 250ns"},
      parameters);
  if (!reader) return tl::unexpected<Error>(reader.error());
  const auto values = reader->numbers_or_times(kNames);
  if (!values) return tl::unexpected<Error>(values.error());
  const auto& v = *values;
  const Result<Rational> limit =
      can_classic_tolerance({v[0], v[1], v[2], v[3]});
  if (!limit) return refuse_values(row, limit.error());
  RequirementAsked asked = asked_of(row, both_ways(*limit));
  asked.set_up = bit_timing();
  return asked;
}

Result<RequirementAsked> resolve_can_fd(
    const Requirement& row, const RequirementParameters& parameters) {
  constexpr std::string_view kNames[] = {
      "nsjw", "ntbit", "npb1", "npb2", "nbrp", "dsjw", "dtbit", "dpb2", "dbrp"};
  const auto reader = ParameterReader::open(
      {row.id,
       kNames,
       {},
       "nsjw 32, ntbit 160, npb1 32, npb2 32, dsjw 8, dtbit 40, dpb2 8 in time "
       "quanta, with prescalers nbrp 1, dbrp 1"},
      parameters);
  if (!reader) return tl::unexpected<Error>(reader.error());
  const auto values = read_numbers(*reader, kNames);
  if (!values) return tl::unexpected<Error>(values.error());
  const auto& v = *values;
  const Result<CanFdTolerance> limit = can_fd_tolerance(
      {{v[0], v[1], v[2], v[3]}, v[4], v[5], v[6], v[7], v[8]});
  if (!limit) return refuse_values(row, limit.error());
  RequirementAsked asked =
      asked_of(row, both_ways(limit->each_ppm[limit->strictest]));
  asked.source += "; strictest is the ";
  asked.source += can_fd_condition_name(limit->strictest);
  asked.set_up = bit_timing();
  return asked;
}

constexpr std::string_view kUartExample =
    "clock 24MHz, baud 115200, oversampling 16, frame_bits 10, far_end 2%";

// When the receiver looks at a bit. Ticks 8 to 10 of 16 are what is usual;
// there is no such usage for other numbers of ticks.
Result<UartSampling> read_sampling(const ParameterReader& reader) {
  UartSampling sampling = {0, 8, 10, 0};
  const auto oversampling = reader.whole_number("oversampling");
  if (!oversampling) return tl::unexpected<Error>(oversampling.error());
  sampling.oversampling = *oversampling;
  const auto bits = reader.whole_number("frame_bits");
  if (!bits) return tl::unexpected<Error>(bits.error());
  sampling.frame_bits = *bits;
  const bool is_usual = sampling.oversampling == 16 &&
                        !reader.has("first_sample") &&
                        !reader.has("last_sample");
  if (is_usual) return sampling;
  const std::pair<std::string_view, std::int64_t*> ticks[] = {
      {"first_sample", &sampling.first_sample},
      {"last_sample", &sampling.last_sample}};
  for (const auto& [name, tick] : ticks) {
    if (!reader.has(name)) {
      return refuse_requirement(
          "uart",
          "parameter \"" + std::string(name) +
              "\" is missing, expected both first_sample and last_sample",
          "the ticks of a bit the receiver takes it from, counted from 1: see "
          "its data sheet; only for oversampling 16 is 8 to 10 assumed");
    }
    const auto value = reader.whole_number(name);
    if (!value) return tl::unexpected<Error>(value.error());
    *tick = *value;
  }
  return sampling;
}

Result<UartLink> read_link(const ParameterReader& reader) {
  UartLink link = {};
  const auto sampling = read_sampling(reader);
  if (!sampling) return tl::unexpected<Error>(sampling.error());
  link.sampling = *sampling;
  const auto clock = reader.frequency("clock");
  if (!clock) return tl::unexpected<Error>(clock.error());
  link.clock_hz = *clock;
  const auto baud = reader.number("baud");
  if (!baud) return tl::unexpected<Error>(baud.error());
  link.baud = *baud;
  // A far end that is perfect leaves the whole margin to this clock.
  const auto far_end = reader.tolerance_or_zero("far_end");
  if (!far_end) return tl::unexpected<Error>(far_end.error());
  link.far_end = *far_end;
  if (reader.has("divisor")) {
    const auto divisor = reader.number("divisor");
    if (!divisor) return tl::unexpected<Error>(divisor.error());
    link.divisor = *divisor;
    return link;
  }
  // What is wrong with the others is said where all of them are looked at.
  link.divisor = 1;
  if (link.baud.sign() <= 0 || link.sampling.oversampling <= 0) return link;
  const auto nearest = nearest_uart_divisor(link.clock_hz, link.baud,
                                            link.sampling.oversampling);
  if (!nearest) return tl::unexpected<Error>(nearest.error());
  link.divisor = *nearest;
  return link;
}

// Few links need a divisor in the thousands; a baud short of a thousandfold
// does.
std::string divisor_question(const UartLink& link) {
  constexpr std::int64_t kSeldom = 1000;
  if (link.divisor < Rational(kSeldom)) return "";
  return " (so large a divisor makes " + number_text(link.baud.to_double(), 9) +
         " baud: is that meant?)";
}

std::string link_words(const UartLink& link, const UartTolerance& tolerance) {
  const UartSampling& s = link.sampling;
  return "; ticks " + std::to_string(s.first_sample) + " to " +
         std::to_string(s.last_sample) + " of " +
         std::to_string(s.oversampling) + ", " + std::to_string(s.frame_bits) +
         " bits a frame, far end " +
         band_text(link.far_end.low_ppm.to_double(),
                   link.far_end.high_ppm.to_double()) +
         ", divisor " + number_text(link.divisor.to_double(), 9) + " off by " +
         number_text(tolerance.bit_rate_error_ppm.to_double(), 5) + " ppm" +
         divisor_question(link);
}

Result<RequirementAsked> resolve_uart(const Requirement& row,
                                      const RequirementParameters& parameters) {
  constexpr std::string_view kNeeded[] = {"clock", "baud", "oversampling",
                                          "frame_bits", "far_end"};
  constexpr std::string_view kOptional[] = {"divisor", "first_sample",
                                            "last_sample"};
  const auto reader = ParameterReader::open(
      {row.id, kNeeded, kOptional, kUartExample}, parameters);
  if (!reader) return tl::unexpected<Error>(reader.error());
  const auto link = read_link(*reader);
  if (!link) return tl::unexpected<Error>(link.error());
  const Result<UartTolerance> tolerance = uart_tolerance(*link);
  if (!tolerance) return refuse_values(row, tolerance.error());
  RequirementAsked asked = asked_of(row, inwards(tolerance->limits_ppm));
  asked.source += link_words(*link, *tolerance);
  asked.set_up = link_set_up(tolerance->bit_rate_error_ppm);
  return asked;
}

Result<RequirementAsked> resolve_time_keeping(
    const Requirement& row, const RequirementParameters& parameters) {
  struct Span {
    std::string_view name;
    std::int64_t days;
    const char* words;
  };
  constexpr Span kSpans[] = {{"per_day", 1, "a day"},
                             {"per_month", 30, "30 days"},
                             {"per_year", 365, "365 days"}};
  constexpr std::string_view kNames[] = {"per_day", "per_month", "per_year"};
  const auto reader =
      ParameterReader::open({row.id, {}, kNames, "per_day 2s"}, parameters);
  if (!reader) return tl::unexpected<Error>(reader.error());
  if (parameters.size() != 1) {
    return refuse_requirement(
        row.id,
        "found " + std::to_string(parameters.size()) +
            " parameters, expected one of per_day, per_month, per_year",
        "for example per_day 2s");
  }
  const Span& span = *std::find_if(
      std::begin(kSpans), std::end(kSpans),
      [&reader](const Span& one) { return reader->has(one.name); });
  const auto time = reader->time(span.name);
  if (!time) return tl::unexpected<Error>(time.error());
  const auto limit = time_keeping_tolerance(*time, span.days);
  if (!limit) return refuse_values(row, limit.error());
  RequirementAsked asked = asked_of(row, both_ways(*limit));
  asked.counts_pulses = true;
  asked.source =
      "stated: " + number_text(time->to_double(), 6) + " s in " + span.words;
  return asked;
}

}  // namespace

Result<RequirementAsked> resolve_requirement(
    std::string_view id, const RequirementParameters& parameters) {
  const Requirement* row = find_requirement(id);
  if (row == nullptr) return refuse_unknown(id);
  if (id == "can-classic") return resolve_can_classic(*row, parameters);
  if (id == "can-fd") return resolve_can_fd(*row, parameters);
  if (id == "uart") return resolve_uart(*row, parameters);
  if (id == "time-keeping") return resolve_time_keeping(*row, parameters);
  const auto none = ParameterReader::open({id, {}, {}, ""}, parameters);
  if (!none) return tl::unexpected<Error>(none.error());
  return asked_of(*row, row->tolerance);
}

Result<RequirementAsked> read_requirement_option(std::string_view text) {
  const std::size_t comma = text.find(',');
  const std::string_view id = text.substr(0, comma);
  RequirementParameters parameters;
  std::string_view rest =
      comma == std::string_view::npos ? "" : text.substr(comma + 1);
  while (comma != std::string_view::npos) {
    const std::size_t end = rest.find(',');
    const std::string_view item = rest.substr(0, end);
    const std::size_t equals = item.find('=');
    if (equals == std::string_view::npos || equals == 0 ||
        equals + 1 == item.size()) {
      return refuse_requirement(
          id, "cannot read \"" + std::string(item) + "\", expected key=value",
          "for example can-classic,sjw=1,tbit=16,pb1=5,pb2=4");
    }
    const std::string key(item.substr(0, equals));
    if (!parameters.emplace(key, item.substr(equals + 1)).second) {
      return refuse_requirement(id, "parameter \"" + key + "\" is given twice");
    }
    if (end == std::string_view::npos) break;
    rest = rest.substr(end + 1);
  }
  return resolve_requirement(id, parameters);
}

Result<void> check_shown(const RequirementAsked& asked,
                         const Rational& expected_hz) {
  if (asked.limits_ppm || is_asked_of(asked, expected_hz)) return {};
  return refuse_requirement(
      asked.id,
      "it limits the duty alone, of a clock of " +
          hertz_text(asked.nominal_hz ? asked.nominal_hz->to_double() : 0.0) +
          ", and the pin is expected to carry " +
          hertz_text(expected_hz.to_double()),
      "a duty does not carry along a clock path: capture the clock itself, or "
      "state the limits of this pin as the clock's \"duty\"");
}

}  // namespace clockassay
