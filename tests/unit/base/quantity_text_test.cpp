// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/base/quantity_text.h"

#include <doctest/doctest.h>

#include <string>

#include "clockassay/base/electric_text.h"

namespace clockassay {
namespace {

Rational ratio(Int128 num, Int128 den) {
  return Rational::make(num, den).value();
}

// An error as "message | hint"; "read" when there was none.
template <class T>
std::string complaint(const Result<T>& result) {
  if (result) return "read";
  CHECK(result.error().code == ErrorCode::kUsage);
  return result.error().message + " | " + result.error().hint;
}

struct Good {
  const char* text;
  Rational value;
};

struct Bad {
  const char* text;
  const char* complaint;
};

TEST_CASE("parse_frequency: units, blanks and bare numbers, exactly") {
  const Good rows[] = {
      {"12MHz", 12000000},
      {"32.768kHz", 32768},
      {"32.768 kHz", 32768},
      {" 32.768\tkHz ", 32768},
      {"1Hz", 1},
      {"1.5GHz", 1500000000},
      {"24e6", 24000000},
      {"1e3kHz", 1000000},
      {"0.1Hz", ratio(1, 10)},
      {"+5Hz", 5},
  };
  for (const Good& row : rows) {
    CAPTURE(row.text);
    const auto read = parse_frequency(row.text);
    REQUIRE(read.has_value());
    CHECK(*read == row.value);
  }
}

TEST_CASE("parse_sample_rate: hertz or samples per second, exactly") {
  const Good rows[] = {
      {"100MS/s", 100000000},   {"100 MSa/s", 100000000}, {"500ksps", 500000},
      {"1.25GSps", 1250000000}, {"24MHz", 24000000},      {"7S/s", 7},
      {"48000", 48000},
  };
  for (const Good& row : rows) {
    CAPTURE(row.text);
    const auto read = parse_sample_rate(row.text);
    REQUIRE(read.has_value());
    CHECK(*read == row.value);
  }
  CHECK(complaint(parse_sample_rate("24mS/s")) ==
        "cannot read \"24mS/s\" as a sample rate: found \"mS/s\" after the "
        "number, allowed are Hz, kHz, MHz, GHz, or S/s, kS/s, MS/s, GS/s | "
        "did you mean \"MS/s\"?");
  CHECK(complaint(parse_sample_rate("0S/s")) ==
        "cannot read \"0S/s\" as a sample rate: found zero, expected more "
        "than zero | ");
}

TEST_CASE("parse_frequency: a bare mHz is refused, near misses are named") {
  const Bad rows[] = {
      {"12mHz",
       "cannot read \"12mHz\" as a frequency: found \"mHz\", which is a "
       "thousandth of a hertz, allowed are Hz, kHz, MHz, GHz | did you mean "
       "\"MHz\"?"},
      {"12mhz",
       "cannot read \"12mhz\" as a frequency: found \"mhz\" after the number, "
       "allowed are Hz, kHz, MHz, GHz | did you mean \"MHz\"?"},
      {"12MHZ",
       "cannot read \"12MHZ\" as a frequency: found \"MHZ\" after the number, "
       "allowed are Hz, kHz, MHz, GHz | did you mean \"MHz\"?"},
      {"32.768 khz",
       "cannot read \"32.768 khz\" as a frequency: found \"khz\" after the "
       "number, allowed are Hz, kHz, MHz, GHz | did you mean \"kHz\"?"},
      {"12M",
       "cannot read \"12M\" as a frequency: found \"M\" after the number, "
       "allowed are Hz, kHz, MHz, GHz | did you mean \"MHz\"?"},
      {"12ms",
       "cannot read \"12ms\" as a frequency: found \"ms\" after the number, "
       "allowed are Hz, kHz, MHz, GHz | for example 12MHz"},
      {"32,768kHz",
       "cannot read \"32,768kHz\" as a frequency: found \",768kHz\" after the "
       "number, allowed are Hz, kHz, MHz, GHz | the decimal mark is a point"},
      {"",
       "cannot read \"\" as a frequency: found no number, expected a "
       "decimal number and a unit | for example 12MHz"},
      {"MHz",
       "cannot read \"MHz\" as a frequency: found no number, expected a "
       "decimal number and a unit | for example 12MHz"},
      {"0Hz",
       "cannot read \"0Hz\" as a frequency: found zero, expected more than "
       "zero | "},
      {"-1Hz",
       "cannot read \"-1Hz\" as a frequency: found a negative value, expected "
       "more than zero | "},
      {"1e400",
       "cannot read \"1e400\" as a frequency: the number is too large or has "
       "too many digits | about 37 digits can be held exactly"},
      // Reads as a number, but not with its unit.
      {"1e35GHz",
       "cannot read \"1e35GHz\" as a frequency: the number is too large or "
       "has too many digits | about 37 digits can be held exactly"},
  };
  for (const Bad& row : rows) {
    CHECK(complaint(parse_frequency(row.text)) == row.complaint);
  }
}

TEST_CASE("parse_time: every unit, and both micro signs") {
  const Good rows[] = {
      {"10ms", ratio(1, 100)},
      {"5us", ratio(1, 200000)},
      {"5\xC2\xB5s", ratio(1, 200000)},  // U+00B5 micro sign
      {"5\xCE\xBCs", ratio(1, 200000)},  // U+03BC Greek mu
      {"1s", 1},
      {"2", 2},
      {"0", 0},
      {"25 ns", ratio(1, 40000000)},
      {"300ps", ratio(3, 10000000000)},
      {"1fs", ratio(1, 1000000000000000)},
  };
  for (const Good& row : rows) {
    CAPTURE(row.text);
    const auto read = parse_time(row.text);
    REQUIRE(read.has_value());
    CHECK(*read == row.value);
  }
}

TEST_CASE("parse_time: wrong units and negative times are refused") {
  const Bad rows[] = {
      {"10Ms",
       "cannot read \"10Ms\" as a time: found \"Ms\" after the number, allowed "
       "are s, ms, us, ns, ps, fs | did you mean \"ms\"?"},
      {"10min",
       "cannot read \"10min\" as a time: found \"min\" after the number, "
       "allowed are s, ms, us, ns, ps, fs | for example 10ms"},
      {"-1ms",
       "cannot read \"-1ms\" as a time: found a negative value, expected zero "
       "or more | "},
  };
  for (const Bad& row : rows) {
    CHECK(complaint(parse_time(row.text)) == row.complaint);
  }
}

TEST_CASE("parse_capacitance: every unit, and both micro signs") {
  const Good rows[] = {
      {"12pF", ratio(12, 1000000000000)},
      {"8 fF", ratio(8, 1000000000000000)},
      {"1.5nF", ratio(15, 10000000000)},
      {"1uF", ratio(1, 1000000)},
      {"1\xC2\xB5"
       "F",
       ratio(1, 1000000)},  // U+00B5 micro sign
      {"1\xCE\xBC"
       "F",
       ratio(1, 1000000)},  // U+03BC Greek mu
      {"2F", 2},
      {"12e-12", ratio(12, 1000000000000)},
      {"0pF", 0},
  };
  for (const Good& row : rows) {
    CAPTURE(row.text);
    const auto read = parse_capacitance(row.text);
    REQUIRE(read.has_value());
    CHECK(*read == row.value);
  }
}

TEST_CASE("parse_capacitance: wrong units and negative values are refused") {
  const Bad rows[] = {
      {"12pf",
       "cannot read \"12pf\" as a capacitance: found \"pf\" after the number, "
       "allowed are F, uF, nF, pF, fF | did you mean \"pF\"?"},
      {"12p",
       "cannot read \"12p\" as a capacitance: found \"p\" after the number, "
       "allowed are F, uF, nF, pF, fF | for example 12pF"},
      {"-1pF",
       "cannot read \"-1pF\" as a capacitance: found a negative value, "
       "expected zero or more | "},
  };
  for (const Bad& row : rows) {
    CHECK(complaint(parse_capacitance(row.text)) == row.complaint);
  }
}

TEST_CASE("parse_resistance and its kin: every unit, no nothing") {
  const auto value_of = [](const Result<Rational>& read) {
    REQUIRE(read.has_value());
    return *read;
  };
  CHECK(value_of(parse_resistance("60ohm")) == Rational(60));
  CHECK(value_of(parse_resistance("1.5 kohm")) == Rational(1500));
  CHECK(value_of(parse_resistance("2Mohm")) == Rational(2000000));
  CHECK(value_of(parse_resistance("60\xCE\xA9")) == Rational(60));
  CHECK(value_of(parse_resistance("3k\xE2\x84\xA6")) == Rational(3000));
  CHECK(value_of(parse_resistance("47")) == Rational(47));
  CHECK(value_of(parse_transconductance("5mS")) == ratio(5, 1000));
  CHECK(value_of(parse_transconductance("5mA/V")) == ratio(5, 1000));
  CHECK(value_of(parse_transconductance("300uA/V")) == ratio(3, 10000));
  CHECK(value_of(parse_voltage("3.3V")) == ratio(33, 10));
  CHECK(value_of(parse_voltage("800mV")) == ratio(8, 10));
  CHECK(value_of(parse_power("100uW")) == ratio(1, 10000));
  CHECK(value_of(parse_power("200nW")) == ratio(2, 10000000));
  CHECK(complaint(parse_resistance("0ohm")) ==
        "cannot read \"0ohm\" as a resistance: found zero, expected more than "
        "zero | ");
  // A milliohm is nobody's crystal: the case is wrong.
  CHECK(complaint(parse_resistance("60mohm")) ==
        "cannot read \"60mohm\" as a resistance: found \"mohm\" after the "
        "number, allowed are ohm, kohm, Mohm | did you mean \"Mohm\"?");
  CHECK(complaint(parse_power("100mw")) ==
        "cannot read \"100mw\" as a power: found \"mw\" after the number, "
        "allowed are W, mW, uW, nW | did you mean \"mW\"?");
  CHECK(complaint(parse_voltage("-1V")) ==
        "cannot read \"-1V\" as a voltage: found a negative value, expected "
        "more than zero | ");
}

TEST_CASE("parse_capacitance_tolerance: with and without") {
  const auto plain = parse_capacitance_tolerance("3pF");
  REQUIRE(plain.has_value());
  CHECK(plain->farads == ratio(3, 1000000000000));
  CHECK_FALSE(plain->tolerance_farads);
  for (const char* text : {"3pF\xC2\xB1"
                           "500fF",
                           "3pF+-0.5pF"}) {
    const auto both = parse_capacitance_tolerance(text);
    REQUIRE(both.has_value());
    CHECK(both->tolerance_farads == ratio(5, 10000000000000));
  }
  CHECK(complaint(parse_capacitance_tolerance("3pF+-4pF")) ==
        "cannot read \"3pF+-4pF\" as a capacitance: found a tolerance above "
        "the value, expected one within it | for example 3pF±1pF");
}

TEST_CASE("parse_fraction: ppm, ppb and percent, signed") {
  const Good rows[] = {
      {"30ppm", 30},           {"-12.3ppm", ratio(-123, 10)},
      {"50ppb", ratio(1, 20)}, {"0.25%", 2500},
      {"1.5 %", 15000},        {"0ppm", 0},
  };
  for (const Good& row : rows) {
    CAPTURE(row.text);
    const auto read = parse_fraction(row.text);
    REQUIRE(read.has_value());
    CHECK(*read == row.value);
  }
}

TEST_CASE("parse_fraction: a bare number is refused, even zero") {
  const Bad rows[] = {
      {"30",
       "cannot read \"30\" as a fraction: found no unit, allowed are ppm, ppb, "
       "% | write the unit, for example 30ppm"},
      {"0",
       "cannot read \"0\" as a fraction: found no unit, allowed are ppm, ppb, "
       "% | write the unit, for example 30ppm"},
      {"30PPM",
       "cannot read \"30PPM\" as a fraction: found \"PPM\" after the number, "
       "allowed are ppm, ppb, % | did you mean \"ppm\"?"},
  };
  for (const Bad& row : rows) {
    CHECK(complaint(parse_fraction(row.text)) == row.complaint);
  }
}

TEST_CASE("parse_tolerance: one size is symmetric, two ends are as written") {
  struct Row {
    const char* text;
    Rational low;
    Rational high;
  };
  const Row rows[] = {
      {"30ppm", -30, 30},
      {"±30ppm", -30, 30},
      {"± 30 ppm", -30, 30},
      {"+-0.25%", -2500, 2500},
      {"-5300ppm..300ppm", -5300, 300},
      {"-5300ppm .. +300ppm", -5300, 300},
      {"0ppm..50ppb", 0, ratio(1, 20)},
      {"10ppm..20ppm", 10, 20},
  };
  for (const Row& row : rows) {
    CAPTURE(row.text);
    const auto read = parse_tolerance(row.text);
    REQUIRE(read.has_value());
    CHECK(read->low_ppm == row.low);
    CHECK(read->high_ppm == row.high);
  }
}

TEST_CASE("parse_tolerance: what could be meant in two ways is refused") {
  const Bad rows[] = {
      {"30",
       "cannot read \"30\" as a fraction: found no unit, allowed are ppm, ppb, "
       "% | write the unit, for example 30ppm"},
      {"-30ppm",
       "cannot read \"-30ppm\" as a tolerance: found a sign, expected a size "
       "without one | for unequal limits write both, for example "
       "-10ppm..30ppm"},
      {"+30ppm",
       "cannot read \"+30ppm\" as a tolerance: found a sign, expected a size "
       "without one | for unequal limits write both, for example "
       "-10ppm..30ppm"},
      {"±-30ppm",
       "cannot read \"±-30ppm\" as a tolerance: found a sign, expected a size "
       "without one | for unequal limits write both, for example "
       "-10ppm..30ppm"},
      {"0ppm",
       "cannot read \"0ppm\" as a tolerance: found zero, expected more than "
       "zero | "},
      {"+/-30ppm",
       "cannot read \"+/-30ppm\" as a tolerance: found \"+/-\" | write \"±\" "
       "or "
       "\"+-\""},
      {"-5300..300ppm",
       "cannot read \"-5300\" as a fraction: found no unit, allowed are ppm, "
       "ppb, % | write the unit, for example 30ppm"},
      {"300ppm..-5300ppm",
       "cannot read \"300ppm..-5300ppm\" as a tolerance: the lower end is not "
       "below the upper end | for example -5300ppm..300ppm"},
      {"30ppm±2ppm",
       "cannot read \"30ppm±2ppm\" as a fraction: found \"ppm±2ppm\" after the "
       "number, allowed are ppm, ppb, % | for example 30ppm"},
      {"..",
       "cannot read \"\" as a fraction: found no number, expected a "
       "decimal number and a unit | for example 30ppm"},
  };
  for (const Bad& row : rows) {
    CHECK(complaint(parse_tolerance(row.text)) == row.complaint);
  }
}

TEST_CASE("parse_tolerance_or_zero: zero is a tolerance with its unit only") {
  for (const char* text : {"0%", "±0ppm", "+-0 ppb"}) {
    CAPTURE(text);
    const auto read = parse_tolerance_or_zero(text);
    REQUIRE(read.has_value());
    CHECK(read->low_ppm == Rational(0));
    CHECK(read->high_ppm == Rational(0));
  }
  CHECK_FALSE(parse_tolerance_or_zero("0").has_value());
  CHECK_FALSE(parse_tolerance_or_zero("-1ppm").has_value());
  const auto other = parse_tolerance_or_zero("2%");
  REQUIRE(other.has_value());
  CHECK(other->low_ppm == Rational(-20000));
}

TEST_CASE("parse_offset_tolerance: tolerance alone or a calibrated offset") {
  struct Row {
    const char* text;
    Rational offset;
    Rational tolerance;
    bool has_offset;
  };
  const Row rows[] = {
      {"25ppm", 0, 25, false},
      {"±25ppm", 0, 25, false},
      {"+-25ppm", 0, 25, false},
      {"-12.3ppm±2ppm", ratio(-123, 10), 2, true},
      {"-12.3ppm+-2ppm", ratio(-123, 10), 2, true},
      {"+12.3 ppm ± 50 ppb", ratio(123, 10), ratio(1, 20), true},
      {"0ppm±1ppm", 0, 1, true},
  };
  for (const Row& row : rows) {
    CAPTURE(row.text);
    const auto read = parse_offset_tolerance(row.text);
    REQUIRE(read.has_value());
    CHECK(read->offset_ppm == row.offset);
    CHECK(read->tolerance_ppm == row.tolerance);
    CHECK(read->has_offset == row.has_offset);
  }
}

TEST_CASE("parse_offset_tolerance: an offset alone is no tolerance") {
  const Bad rows[] = {
      {"-12.3ppm",
       "cannot read \"-12.3ppm\" as a tolerance: found a sign, expected a size "
       "without one | an offset needs its tolerance, for example "
       "-12.3ppm±2ppm"},
      {"-12.3±2ppm",
       "cannot read \"-12.3\" as a fraction: found no unit, allowed are ppm, "
       "ppb, % | write the unit, for example 30ppm"},
      {"-12.3ppm±0ppm",
       "cannot read \"-12.3ppm±0ppm\" as a tolerance: found zero, expected "
       "more than zero | "},
      {"-12.3ppm±",
       "cannot read \"\" as a fraction: found no number, expected a decimal "
       "number and a unit | for example 30ppm"},
      {"1ppm±2ppm±3ppm",
       "cannot read \"2ppm±3ppm\" as a fraction: found \"ppm±3ppm\" after the "
       "number, allowed are ppm, ppb, % | for example 30ppm"},
  };
  for (const Bad& row : rows) {
    CHECK(complaint(parse_offset_tolerance(row.text)) == row.complaint);
  }
}

TEST_CASE("parse_frequency_tolerance: a frequency, with a tolerance or not") {
  struct Row {
    const char* text;
    Rational frequency;
    std::optional<Rational> tolerance;
  };
  const Row rows[] = {
      {"10MHz", 10'000'000, {}},
      {"10MHz±0.1ppm", 10'000'000, ratio(1, 10)},
      {"1Hz+-50ppb", 1, ratio(1, 20)},
      {" 32.768 kHz ± 2 ppm ", 32'768, 2},
  };
  for (const Row& row : rows) {
    CAPTURE(row.text);
    const auto read = parse_frequency_tolerance(row.text);
    REQUIRE(read.has_value());
    CHECK(read->frequency_hz == row.frequency);
    CHECK(read->tolerance_ppm == row.tolerance);
  }
}

TEST_CASE("parse_frequency_tolerance: what is refused, and why") {
  const Bad rows[] = {
      {"10MHz±-1ppm",
       "cannot read \"10MHz±-1ppm\" as a tolerance: found a sign, expected a "
       "size without one | for example 10MHz±0.1ppm"},
      {"10MHz±0ppm",
       "cannot read \"10MHz±0ppm\" as a tolerance: found zero, expected more "
       "than zero | "},
      {"10MHz±100%",
       "cannot read \"10MHz±100%\" as a tolerance: found 100 % or more, "
       "expected less | "},
      {"10MHz+/-1ppm",
       "cannot read \"10MHz+/-1ppm\" as a tolerance: found \"+/-\" | write "
       "\"±\" or \"+-\""},
      {"0Hz±1ppm",
       "cannot read \"0Hz\" as a frequency: found zero, expected more than "
       "zero | "},
  };
  for (const Bad& row : rows) {
    CHECK(complaint(parse_frequency_tolerance(row.text)) == row.complaint);
  }
}

TEST_CASE("parse_temperature: degrees Celsius, below zero too") {
  CHECK(parse_temperature("23degC") == Rational(23));
  CHECK(parse_temperature(" -40.5 \xC2\xB0"
                          "C") == *Rational::make(-81, 2));
  CHECK(complaint(parse_temperature("23")) ==
        "cannot read \"23\" as a temperature: found no unit, allowed are degC "
        "| write the unit, for example 23degC");
  CHECK(complaint(parse_temperature("300K")) ==
        "cannot read \"300K\" as a temperature: found \"K\" after the number, "
        "allowed are degC | for example 23degC");
  CHECK(parse_temperature("-273.15degC"));
  CHECK(complaint(parse_temperature("-274degC")) ==
        "cannot read \"-274degC\" as a temperature: found less than absolute "
        "zero, -273.15 degC | ");
}

TEST_CASE("parse_tolerance: 100 % and more is no tolerance") {
  CHECK(parse_tolerance("99%"));
  for (const char* text : {"100%", "1e9ppm", "-200%..1ppm", "-1ppm..100%"}) {
    CAPTURE(text);
    const auto band = parse_tolerance(text);
    REQUIRE_FALSE(band);
    CHECK(band.error().message.find("100 % or more") != std::string::npos);
  }
}

}  // namespace

TEST_CASE("parse_temperature_range: two temperatures, the lower one first") {
  const auto plain = parse_temperature_range("-40..85");
  REQUIRE(plain);
  CHECK(plain->low_c == Rational(-40));
  CHECK(plain->high_c == Rational(85));
  const auto units = parse_temperature_range(
      "-0.5degC .. 70 \xC2\xB0"
      "C");
  REQUIRE(units);
  CHECK(units->low_c == *Rational::make(-1, 2));
  CHECK(units->high_c == Rational(70));
  for (const char* wrong : {"85", "85..-40", "25..25", "-300..0", "0..2000",
                            "0K..300K", "a..b", "..", "10ppm..20ppm"}) {
    CAPTURE(wrong);
    CHECK_FALSE(parse_temperature_range(wrong));
  }
}

}  // namespace clockassay
