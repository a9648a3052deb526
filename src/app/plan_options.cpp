// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/plan_options.h"

#include <algorithm>
#include <string_view>

#include "app/plan_option_parts.h"
#include "clockassay/analysis/instrument.h"
#include "clockassay/base/decimal.h"
#include "clockassay/base/electric_text.h"
#include "clockassay/base/quantity_text.h"
#include "clockassay/oscillator/clock_path.h"

namespace clockassay {
namespace {

// Chosen, of all quantities of a circuit: no crystal, capacitor or supply is
// beyond, and what is is a slip of the unit ("18" for 18 pF).
constexpr double kLargestFarads = 1e-6;
constexpr double kSmallestFarads = 1e-13;

bool is_capacitance(double farads) {
  return farads >= kSmallestFarads && farads <= kLargestFarads;
}

// What a quantity of a circuit may be.
struct CapacitanceRange {
  double low;
  double high;
  const char* expected;
};

// Chosen, each far beyond what there is (docs/load.md, What is not published).
constexpr CapacitanceRange kLoadRange{1e-13, 1e-9, "from 0.1 pF to 1 nF"};
constexpr CapacitanceRange kShuntRange{1e-14, 1e-10, "from 0.01 pF to 100 pF"};
constexpr CapacitanceRange kMotionalRange{1e-16, 3e-13,
                                          "from 0.1 fF to 300 fF"};

std::optional<Farads> capacitance(OptionReader& reader, std::string_view name,
                                  const CapacitanceRange& range,
                                  const char* hint) {
  const auto read = read_by<Rational>(reader, name, parse_capacitance);
  if (!read) return std::nullopt;
  const double farads = read->to_double();
  if (farads >= range.low && farads <= range.high) return Farads(farads);
  reader.refuse(
      name,
      "found " + *reader.given().one(name) + ", expected " + range.expected,
      hint);
  return std::nullopt;
}

std::optional<Farads> load_capacitance(OptionReader& reader,
                                       std::string_view name) {
  return capacitance(reader, name, kLoadRange, "in picofarads: 18pF");
}

std::optional<Farads> shunt_capacitance(OptionReader& reader) {
  return capacitance(reader, "--c0", kShuntRange, "in picofarads: 3pF");
}

std::optional<Farads> motional_capacitance(OptionReader& reader) {
  return capacitance(reader, "--c1", kMotionalRange,
                     "C1 is motional: some femtofarads, 8fF, C0/C1 about 250");
}

// `may_lack`: 0pF says that nothing is there.
std::optional<CapacitorPair> capacitor_pair(OptionReader& reader,
                                            std::string_view name,
                                            bool may_lack) {
  const auto text = reader.given().one(name);
  if (!text) return std::nullopt;
  const std::size_t comma = text->find(',');
  if (comma == std::string::npos) {
    reader.refuse(name, "found \"" + *text + "\", expected two capacitances",
                  "for example 22pF,22pF");
    return std::nullopt;
  }
  if (text->find(',', comma + 1) != std::string::npos) {
    reader.refuse(name, "found \"" + *text + "\", expected two capacitances",
                  "one from each pin to ground; of several at one pin the sum");
    return std::nullopt;
  }
  CapacitorPair pair;
  for (const bool first : {true, false}) {
    const std::string part =
        first ? text->substr(0, comma) : text->substr(comma + 1);
    const auto read = parse_capacitance(part);
    if (!read) {
      reader.refuse(name, read.error().message, read.error().hint);
      return std::nullopt;
    }
    const bool none = read->sign() == 0;
    if (none && !may_lack) {
      reader.refuse(name, "found " + part + ", expected from 0.1 pF to 1 uF",
                    "with nothing from a pin to ground no oscillator runs; pin "
                    "and trace alone have some pF: 22pF,5pF");
    } else if (!none && !is_capacitance(read->to_double())) {
      reader.refuse(name, "found " + part + ", expected from 0.1 pF to 1 uF",
                    "no smaller or larger capacitor is fitted to a crystal; "
                    "mind the unit: 22pF,22pF");
    }
    (first ? pair.a : pair.b) = Farads(read->to_double());
  }
  return pair;
}

// A value of a circuit from `low` to `high` of its unit.
template <class Kind>
std::optional<Quantity<Kind>> circuit_value(OptionReader& reader,
                                            std::string_view name,
                                            Parser<Rational> parse, double low,
                                            double high, const char* expected,
                                            const char* hint = "") {
  const auto text = reader.given().one(name);
  if (!text) return std::nullopt;
  const auto read = parse(*text);
  if (!read) {
    reader.refuse(name, read.error().message,
                  read.error().hint.empty() ? hint : read.error().hint);
    return std::nullopt;
  }
  const double value = read->to_double();
  if (value >= low && value <= high) return Quantity<Kind>(value);
  reader.refuse(name,
                "found " + *reader.given().one(name) + ", expected " + expected,
                hint);
  return std::nullopt;
}

// A bare number is SI: above what there is of it the unit was forgotten.
void refuse_bare_above(OptionReader& reader, std::string_view name, double most,
                       const char* hint) {
  const auto text = reader.given().one(name);
  if (!text) return;
  const auto bare = parse_decimal(*text);
  if (!bare || !(bare->value.to_double() > most)) return;
  reader.refuse(name, "found " + *text + ", without a unit",
                std::string("write the unit, ") + hint);
}

std::optional<Hertz> crystal_frequency(OptionReader& reader) {
  return circuit_value<HertzKind>(reader, "--frequency", parse_frequency, 1e3,
                                  1e9, "from 1 kHz to 1 GHz");
}

std::optional<StatedStray> stray(OptionReader& reader) {
  const bool across = reader.given().has("--stray-across");
  const bool per_pin = reader.given().has("--stray-per-pin");
  if (!across && !per_pin) return std::nullopt;
  if (across && per_pin) {
    reader.refuse("--stray-per-pin", "does not go with --stray-across",
                  "4 pF across are as much as 8 pF from each pin");
  }
  const std::string_view name = across ? "--stray-across" : "--stray-per-pin";
  const auto read = read_by<CapacitanceAndTolerance>(
      reader, name, parse_capacitance_tolerance);
  if (!read) return std::nullopt;
  const Farads middle(read->farads.to_double());
  constexpr double kLargestStray = 1e-9;  // chosen, as of the load
  if (middle.value() > kLargestStray) {
    reader.refuse(
        name, "found " + *reader.given().one(name) + ", expected at most 1 nF",
        "write the unit: 3pF");
  }
  const Farads half(read->tolerance_farads.value_or(Rational(0)).to_double());
  return StatedStray{middle, half, per_pin};
}

void check_crystal(OptionReader& reader, const std::optional<Farads>& c0,
                   const std::optional<Farads>& c1) {
  if (!c0 || !c1 || *c1 < 0.1 * *c0) return;
  reader.refuse(
      "--c1",
      "found " + *reader.given().one("--c1") + ", expected far less than C0",
      "C1 is motional: some femtofarads, C0/C1 about 250");
}

// A bare number above one is a per cent sign forgotten.
std::optional<Rational> capacitor_tolerance(OptionReader& reader) {
  constexpr std::string_view kName = "--capacitor-tolerance";
  const auto text = reader.given().one(kName);
  if (!text) return std::nullopt;
  const auto bare = parse_decimal(*text);
  if (!bare || bare->value <= Rational(1)) return reader.fraction(kName);
  reader.refuse(kName, "found \"" + *text + "\", expected 0 to 1, or percent",
                "is the per cent sign missing? " + *text + "%");
  return std::nullopt;
}

LoadPlanInput read_load(OptionReader& reader) {
  LoadPlanInput in;
  ask_for(reader, "--crystal-load",
          "the load capacitance the crystal is made for, such as 18pF");
  in.crystal_load =
      load_capacitance(reader, "--crystal-load").value_or(Farads(1e-12));
  in.stray = stray(reader);
  in.c0 = shunt_capacitance(reader);
  in.c1 = motional_capacitance(reader);
  check_crystal(reader, in.c0, in.c1);
  in.fitted = capacitor_pair(reader, "--fitted", true);
  if (reader.word("--e-series") == "E12") {
    in.series = ESeries::kE12;
  }
  if (const auto tolerance = capacitor_tolerance(reader)) {
    in.capacitor_tolerance = tolerance->to_double();
    in.tolerance_stated = true;
    if (in.capacitor_tolerance > 0.5) {
      reader.refuse("--capacitor-tolerance",
                    "found " + *reader.given().one("--capacitor-tolerance") +
                        ", expected at most 50%",
                    "in percent: 5%");
    }
  }
  in.frequency = crystal_frequency(reader);
  read_coverage(reader, in.coverage);
  refuse_others(reader, "plan load");
  return in;
}

DrivePlanInput read_drive(OptionReader& reader) {
  DrivePlanInput in;
  ask_for(reader, "--frequency", "of the crystal, such as 16MHz");
  ask_for(reader, "--esr",
          "the motional resistance; of a data sheet the largest, such as "
          "60ohm");
  ask_for(reader, "--c0", "the shunt capacitance, such as 3pF");
  ask_for(reader, "--load",
          "what the crystal sees, stray included, such as 12pF");
  in.frequency = crystal_frequency(reader).value_or(Hertz(1e6));
  in.r1 = circuit_value<OhmsKind>(reader, "--esr", parse_resistance, 0.1, 1e7,
                                  "from 0.1 ohm to 10 Mohm")
              .value_or(Ohms(1));
  in.c0 = shunt_capacitance(reader).value_or(Farads(1e-12));
  in.load = load_capacitance(reader, "--load").value_or(Farads(1e-12));
  in.legs = capacitor_pair(reader, "--legs", false);
  in.c1 = motional_capacitance(reader);
  check_crystal(reader, in.c0, in.c1);
  in.gm = circuit_value<SiemensKind>(reader, "--gm", parse_transconductance,
                                     1e-9, 1.0, "from 1 nS to 1 S");
  // A thousandth or a millionth was meant.
  refuse_bare_above(reader, "--gm", 0.2, "such as 5mA/V");
  in.output_resistance =
      circuit_value<OhmsKind>(reader, "--output-resistance", parse_resistance,
                              1.0, 1e9, "from 1 ohm to 1 Gohm");
  in.swing = circuit_value<VoltsKind>(reader, "--swing", parse_voltage, 1e-3,
                                      100.0, "from 1 mV to 100 V");
  in.drive_limit = circuit_value<WattsKind>(
      reader, "--drive-limit", parse_power, 1e-9, 1.0, "from 1 nW to 1 W");
  refuse_bare_above(reader, "--drive-limit", 0.02, "such as 100uW");
  in.series_resistor =
      circuit_value<OhmsKind>(reader, "--series-resistor", parse_resistance,
                              0.1, 1e8, "from 0.1 ohm to 100 Mohm",
                              "where a link of 0 ohm or none is fitted leave "
                              "--series-resistor out");
  in.still_starts =
      circuit_value<OhmsKind>(reader, "--still-starts-with", parse_resistance,
                              0.1, 1e8, "from 0.1 ohm to 100 Mohm");
  refuse_others(reader, "plan drive");
  return in;
}

// A bare number is in hertz: what is smaller than any clock that is replaced
// was meant in megahertz.
std::optional<std::string> former_path(OptionReader& reader) {
  constexpr double kSlowest = 1000.0;  // [Hz] chosen: a divider's, no source's
  const auto text = reader.given().one("--former");
  if (!text) return std::nullopt;
  const auto path = parse_clock_path(*text);
  const auto bare = path ? parse_decimal(path->source_text) : std::nullopt;
  if (bare && bare->value.to_double() < kSlowest) {
    reader.refuse("--former", "found " + *text + ", without a unit",
                  "write the unit, such as 16MHz");
  }
  return text;
}

PathPlanInput read_path(OptionReader& reader) {
  PathPlanInput in;
  ask_for(reader, "--expect", "the clock path, such as '24MHz / 2 / 16'");
  in.expression = reader.given().one("--expect").value_or("");
  if (const auto band =
          read_by<ToleranceBand>(reader, "--tolerance", parse_tolerance)) {
    in.source.low_ppm = band->low_ppm.to_double();
    in.source.high_ppm = band->high_ppm.to_double();
    in.source.is_assumed = false;
  }
  // An offset that is known is taken off what is measured.
  if (const auto timebase =
          read_by<Timebase>(reader, "--timebase", parse_timebase)) {
    in.source.timebase_ppm = timebase->tolerance.value();
    in.source.timebase_is_assumed = false;
  }
  in.former = former_path(reader);
  refuse_others(reader, "plan path");
  return in;
}

}  // namespace

bool is_plan(Command command) {
  return command == Command::kPlanLoad || command == Command::kPlanDrive ||
         command == Command::kPlanPath || command == Command::kPlanCapture;
}

PlanArguments read_plan(OptionReader& reader, Command command) {
  PlanArguments arguments;
  arguments.json = reader.given().one("--json");
  arguments.report = reader.given().one("--report");
  arguments.plots = reader.given().one("--plots");
  arguments.quiet = reader.given().has("--quiet");
  if (command == Command::kPlanLoad) {
    arguments.input = read_load(reader);
  } else if (command == Command::kPlanDrive) {
    arguments.input = read_drive(reader);
  } else if (command == Command::kPlanPath) {
    arguments.input = read_path(reader);
  } else {
    arguments.input = read_capture_plan(reader);
    arguments.instrument = reader.given().one("--instrument");
    arguments.timebase_given = reader.given().has("--timebase");
  }
  return arguments;
}

}  // namespace clockassay
