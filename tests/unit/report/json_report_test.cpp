// SPDX-License-Identifier: GPL-3.0-or-later
#include <doctest/doctest.h>

#include <limits>
#include <nlohmann/json.hpp>

#include "clockassay/report/report.h"
#include "unit/report/golden.h"
#include "unit/report/sample_records.h"

using namespace clockassay;
using namespace clockassay::testing;

namespace {

std::string json_of(const Record& record) {
  const auto text = json_report(record);
  REQUIRE(text.has_value());
  return *text;
}

}  // namespace

TEST_CASE("json_report: whole reports are as reviewed") {
  check_golden("pass.json", json_of(passing_record()));
  check_golden("fail.json", json_of(failing_record()));
  check_golden("undecided.json", json_of(undecided_record()));
  check_golden("load.json", json_of(wrong_load_record()));
  check_golden("measure.json", json_of(measured_record()));
  check_golden("explain.json", json_of(explained_record()));
  check_golden("stability.json", json_of(stability_record()));
  check_golden("spectrum.json", json_of(spectrum_record()));
  check_golden("character.json", json_of(character_record()));
}

TEST_CASE("json_report: doubles come back bit for bit") {
  Record r = passing_record();
  const double awkward = 11999963.123456789 / 3.0;
  r.captures[0].channels[0].budget->frequency.value = Hertz(awkward);
  const auto tree = nlohmann::json::parse(json_of(r));
  const double back =
      tree["captures"][0]["channels"][0]["frequency"]["value_hz"];
  CHECK(back == awkward);
}

TEST_CASE("json_report: a load beyond all bounds has none, and says null") {
  Record r = wrong_load_record();
  r.verdicts[0].load->seen_high.reset();
  r.verdicts[0].load->stray->high.reset();
  const auto open = nlohmann::json::parse(json_of(r))["verdicts"][0]["load"];
  CHECK(open["seen_low_f"] == 8.04e-12);
  CHECK(open["seen_high_f"].is_null());
  CHECK(open["stray"]["high_f"].is_null());
  CHECK(open["closest"].is_null());
  LoadInference never;
  never.outcome = LoadOutcome::kNeverTheLoad;
  never.nominal = Farads(12e-12);
  r.verdicts[0].load = never;
  const auto none = nlohmann::json::parse(json_of(r))["verdicts"][0]["load"];
  CHECK(none["outcome"] == "never_the_load");
  CHECK(none["seen_f"].is_null());
  CHECK(none["seen_low_f"].is_null());
  CHECK(none["stray"].is_null());
  CHECK(none["fit"].is_null());
  // A clock without a load stated has no such member.
  const auto other = nlohmann::json::parse(json_of(passing_record()));
  CHECK_FALSE(other["verdicts"][0].contains("load"));
}

TEST_CASE("json_report: a check names the requirement it is of") {
  Record r = passing_record();
  const auto checks = [&] {
    return nlohmann::json::parse(json_of(r))["verdicts"][0]["checks"];
  };
  CHECK(checks()[0]["requirement"].is_null());
  CHECK(checks()[0]["counts_pulses"] == false);
  r.verdicts[0].checks[0].requirement = 1;
  r.verdicts[0].checks[0].requirement_id = "time-keeping";
  r.verdicts[0].checks[0].counts_pulses = true;
  CHECK(checks()[0]["requirement"] == "time-keeping");
  CHECK(checks()[0]["counts_pulses"] == true);
}

TEST_CASE("json_report: unknown is null") {
  Record r = measured_record();
  r.captures[0].channels[0].budget = std::nullopt;
  const auto tree = nlohmann::json::parse(json_of(r));
  const auto& channel = tree["captures"][0]["channels"][0];
  CHECK(channel["frequency"].is_null());
  CHECK(channel["relative_to_timebase"].is_null());
  CHECK(channel["stability"] == nlohmann::json::array());
  CHECK(tree["captures"][0]["sample_interval_s"].is_null());
  const auto& led = tree["captures"][0]["channels"][1];
  CHECK(led["duty"].is_null());
  CHECK(led["jitter"]["period_rms_s"].is_null());
  CHECK(led["relative_to_timebase"]["bounds_hz"].is_null());
}

TEST_CASE("json_report: how finely was sampled, and why that is believed") {
  Record r = passing_record();
  FewPhases few;
  few.samples = 25;
  few.periods = 3;
  few.steps = 0.25;
  few.better_rate = Hertz(88.5e6);
  r.captures[0].channels[0].few_phases = few;
  r.verdicts[0].warnings = {{WarningCode::kAliasCandidate, "92 MHz"}};
  const auto tree = nlohmann::json::parse(json_of(r));
  const auto& capture = tree["captures"][0];
  CHECK(capture["text_resolution_s"] == 1e-9);
  CHECK(capture["window_s"] == 1e-8);
  CHECK(capture["sampling"]["rate_exact_hz"] == "100000000");
  CHECK(capture["sampling"]["interval_reason"] == "stated in the file");
  const auto& sampling = capture["channels"][0]["sampling"];
  CHECK(sampling["looks_like_hz"].size() == 2);
  CHECK(sampling["few_phases"]["samples"] == 25);
  CHECK(sampling["few_phases"]["better_rate_hz"] == 88.5e6);
  CHECK(tree["verdicts"][0]["warnings"][0]["code"] == "alias_candidate");
  CHECK(tree["verdicts"][0]["warnings"][0]["forbids_pass"] == true);
}

TEST_CASE("json_report: names of any bytes give valid ASCII JSON") {
  Record r = measured_record();
  const std::string nasty = "</script>\x1b[2J\"\\\n\xff時\u202E";
  r.captures[0].channels[0].name = nasty;
  r.errors = {Error{ErrorCode::kNoInput, nasty, nasty, nasty, {}, {}}};
  const std::string text = json_of(r);
  for (const char c : text) {
    CHECK((c == '\n' || (c >= ' ' && c < '\x7f')));
  }
  const auto tree = nlohmann::json::parse(text);
  // Only the byte that is not UTF-8 is changed.
  CHECK(tree["captures"][0]["channels"][0]["name"] ==
        "</script>\x1b[2J\"\\\n\\xFF時\u202E");
  CHECK(tree["errors"][0]["code"] == "no_input");
  CHECK(tree["errors"][0]["line"].is_null());
}

TEST_CASE("json_report: a number that is not finite is our bug, not null") {
  for (const double bad : {std::numeric_limits<double>::infinity(),
                           std::numeric_limits<double>::quiet_NaN()}) {
    Record r = passing_record();
    r.verdicts[0].checks[0].high = bad;
    const auto text = json_report(r);
    REQUIRE_FALSE(text.has_value());
    CHECK(text.error().code == ErrorCode::kInternal);
    CHECK(text.error().message ==
          "a result is not a finite number: /verdicts/0/checks/0/high");
  }
}
