// SPDX-License-Identifier: GPL-3.0-or-later
#include "verdict/load_reader.h"

#include <doctest/doctest.h>

#include <string>

#include "clockassay/verdict/specification.h"

namespace clockassay {
namespace {

Result<Specification> read(const std::string& load) {
  return parse_specification(
      R"({"clocks": [{"expect": "24MHz", "tolerance": "20ppm", "load": )" +
      load + "}]}");
}

// "message | hint"; "read" when there was none.
std::string complaint(const std::string& load) {
  const auto spec = read(load);
  if (spec) return "read";
  CHECK(spec.error().code == ErrorCode::kBadSpec);
  return spec.error().message + " | " + spec.error().hint;
}

TEST_CASE("read_load: everything that may be stated") {
  const auto spec = read(
      R"({"nominal": "12pF", "capacitors": ["15pF", "18pF"],
          "stray_across": "4pF", "c0": "3pF", "c1": "8fF"})");
  REQUIRE(spec);
  REQUIRE(spec->clocks[0].load);
  const LoadSpec& load = *spec->clocks[0].load;
  CHECK(load.nominal == Farads(12e-12));
  REQUIRE(load.capacitors);
  CHECK(load.capacitors->a == Farads(15e-12));
  CHECK(load.capacitors->b == Farads(18e-12));
  CHECK(load.stray_across == Farads(4e-12));
  CHECK_FALSE(load.stray_per_pin);
  CHECK(load.c0 == Farads(3e-12));
  CHECK(load.c1 == Farads(8e-15));
}

TEST_CASE("read_load: all but the nominal load may be left out") {
  const auto spec = read(R"({"nominal": "12 pF"})");
  REQUIRE(spec);
  CHECK_FALSE(spec->clocks[0].load->capacitors);
  CHECK_FALSE(spec->clocks[0].load->c1);
  const auto per_pin = read(R"({"nominal": "12pF", "stray_per_pin": "0pF"})");
  REQUIRE(per_pin);
  CHECK(per_pin->clocks[0].load->stray_per_pin == Farads(0.0));
}

TEST_CASE("read_load: what is wrong is said with its place and a way on") {
  const struct {
    const char* load;
    const char* complaint;
  } rows[] = {
      {R"("12pF")", "/clocks/0/load: found text, expected an object | "},
      {R"({})",
       "/clocks/0/load: the key \"nominal\" is missing | the load the crystal "
       "is made for, for example \"nominal\": \"12pF\""},
      {R"({"nominal": "12pF", "capacitor": []})",
       "/clocks/0/load/capacitor: unknown key, allowed are nominal, "
       "capacitors, stray_across, stray_per_pin, c0, c1 | did you mean "
       "\"capacitors\"?"},
      {R"({"nominal": "12"})",
       "/clocks/0/load/nominal: found \"12\", expected 1 pF to 200 pF | for "
       "example \"12pF\""},
      {R"({"nominal": "12nF"})",
       "/clocks/0/load/nominal: found \"12nF\", expected 1 pF to 200 pF | for "
       "example \"12pF\""},
      {R"({"nominal": 12})",
       "/clocks/0/load/nominal: found \"12\", expected 1 pF to 200 pF | for "
       "example \"12pF\""},
      {R"({"nominal": true})",
       "/clocks/0/load/nominal: found true, expected text | for example "
       "\"12pF\""},
      {R"({"nominal": "12pf"})",
       "/clocks/0/load/nominal: cannot read \"12pf\" as a capacitance: found "
       "\"pf\" after the number, allowed are F, uF, nF, pF, fF | did you mean "
       "\"pF\"?"},
      {R"({"nominal": "12pF", "capacitors": "15pF"})",
       "/clocks/0/load/capacitors: found text, expected a list of two | for "
       "example [\"15pF\", \"15pF\"]"},
      {R"({"nominal": "12pF", "capacitors": ["15pF"]})",
       "/clocks/0/load/capacitors: found a list of 1, expected two: one from "
       "each pin to ground | for example [\"15pF\", \"15pF\"]"},
      {R"({"nominal": "12pF", "capacitors": ["15pF", "15nF"]})",
       "/clocks/0/load/capacitors/1: found \"15nF\", expected 0 (none fitted) "
       "to 1 nF | for example \"15pF\""},
      {R"({"nominal": "12pF", "stray_across": "4pF", "stray_per_pin": "8pF"})",
       "/clocks/0/load/stray_per_pin: found it beside \"stray_across\", "
       "expected one of the two | stray of P at each pin is P/2 across the "
       "crystal"},
      {R"({"nominal": "12pF", "stray_across": "-4pF"})",
       "/clocks/0/load/stray_across: cannot read \"-4pF\" as a capacitance: "
       "found a negative value, expected zero or more | "},
      {R"({"nominal": "12pF", "c0": "3fF"})",
       "/clocks/0/load/c0: found \"3fF\", expected 0.05 pF to 100 pF | for "
       "example \"3pF\""},
      {R"({"nominal": "12pF", "c1": "8pF"})",
       "/clocks/0/load/c1: found \"8pF\", expected 0.01 fF to 1 pF | for "
       "example \"8fF\""},
      {R"({"nominal": "12pF", "c0": "3pF", "c1": "0.8pF"})",
       "/clocks/0/load/c1: found more than a tenth of \"c0\", expected some "
       "hundredth of it or less | C1, the motional capacitance, is some fF; "
       "C0, the shunt capacitance, some pF"},
  };
  for (const auto& row : rows) CHECK(complaint(row.load) == row.complaint);
}

}  // namespace
}  // namespace clockassay
