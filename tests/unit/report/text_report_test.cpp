// SPDX-License-Identifier: GPL-3.0-or-later
#include <doctest/doctest.h>

#include <limits>
#include <random>
#include <sstream>

#include "clockassay/report/report.h"
#include "report/display_width.h"
#include "unit/report/golden.h"
#include "unit/report/sample_records.h"

using namespace clockassay;
using namespace clockassay::testing;

namespace {

std::string text_of(const Record& record, const TextOptions& options = {}) {
  const auto text = text_report(record, options);
  REQUIRE(text.has_value());
  return *text;
}

std::string first_line(const std::string& text) {
  return text.substr(0, text.find('\n'));
}

void check_width(const std::string& text) {
  std::istringstream lines(text);
  for (std::string line; std::getline(lines, line);) {
    INFO("line: " << line);
    CHECK(display_width(line) <= 80);
  }
}

}  // namespace

TEST_CASE("text_report: whole reports are as reviewed") {
  check_golden("pass.txt", text_of(passing_record()));
  check_golden("fail.txt", text_of(failing_record()));
  check_golden("undecided.txt", text_of(undecided_record()));
  check_golden("load.txt", text_of(wrong_load_record()));
  check_golden("measure.txt", text_of(measured_record()));
  check_golden("explain.txt", text_of(explained_record()));
  check_golden("spectrum.txt", text_of(spectrum_record()));
  check_golden("character.txt", text_of(character_record()));
}

TEST_CASE("text_report: the first line says it all") {
  // 11 999 964 / 12 000 000 - 1 = -3.0 ppm; 2.2 ppm * 0.95 = 2.09 ppm.
  CHECK(first_line(text_of(passing_record())) ==
        "PASS  clock output  11.999 964 MHz  -3.0 ppm ± 2.1 ppm (95 %)  "
        "limit ±30 ppm");
}

TEST_CASE("text_report: settling is in units of its size") {
  Record record = passing_record();
  Check settling;
  settling.check = "settling";
  settling.subject = "settled, since the first stamp";
  settling.decision = Decision::kPass;
  settling.value = 0.00395;
  settling.high = 0.005;
  settling.unit = "s";
  settling.source = "specification";
  record.verdicts[0].checks.push_back(settling);
  const std::string text = text_of(record);
  INFO(text);
  CHECK(text.find("pass  settling (settled, since the first stamp)  3.95 ms") !=
        std::string::npos);
  CHECK(text.find("at most 5.00 ms") != std::string::npos);
  check_width(text);
}

TEST_CASE(
    "text_report: a source far off has the doubt of what it is, not was") {
  // 2/3 of 24 MHz: U of 2 ppm of the 24 MHz expected is 48 Hz, wherever it is.
  Record record = failing_record();
  Verdict& v = record.verdicts[0];
  v.nominal_source = Hertz(24e6);
  v.implied_source = Hertz(16e6);
  v.expanded_uncertainty = Ppm(2.0);
  const std::string text = text_of(record);
  INFO(text);
  CHECK(text.find("± 48 Hz if the clock path is as expected") !=
        std::string::npos);
}

TEST_CASE("text_report: when the frequency had settled is said") {
  Record record = measured_record();
  ChannelResult& channel = record.captures[0].channels[0];
  CHECK(text_of(record).find("settled") == std::string::npos);
  const Hertz f = channel.budget->relative_to_timebase.value;
  channel.course = {{Seconds(0.0), Seconds(0.01), f, Hertz(1.0)}};
  channel.settled_after = channel.stretches.front().from;
  CHECK(text_of(record).find("settled") == std::string::npos);
  channel.settled_after = Seconds(0.0042);
  const std::string text = text_of(record);
  CHECK(text.find("settled       after 4.200 ms: from then on") !=
        std::string::npos);
  check_width(text);
  channel.settled_after.reset();
  CHECK(text_of(record).find("not by the end of what is analysed") !=
        std::string::npos);
}

TEST_CASE("text_report: quiet is one line a verdict or channel") {
  TextOptions quiet;
  quiet.quiet = true;
  CHECK(text_of(passing_record(), quiet) ==
        "PASS  clock output  11.999 964 MHz  -3.0 ppm ± 2.1 ppm (95 %)  "
        "limit ±30 ppm\ntimebase: stated within ±2.2 ppm\n");
  Record measured = measured_record();
  measured.timebase = Timebase{};
  // 2 ppm * 0.95 of 32 768.31 Hz is 0.0623 Hz.
  CHECK(text_of(measured, quiet) ==
        "clk_out  32.768 310 kHz ± 0.062 Hz (95 %)\n"
        "led  32.768 310 kHz ± 0.062 Hz (95 %)\n"
        "timebase: assumed 100 ppm, not stated\n");
}

TEST_CASE("text_report: bounds are given the repairs, where there are any") {
  // Lines are broken wherever they are full.
  const auto words_of = [](const Record& record) {
    std::istringstream text(text_of(record));
    std::string all;
    for (std::string word; text >> word;) all += word + " ";
    return all;
  };
  Record r = measured_record();
  const std::string ideal =
      "if the clock has no jitter and the sampler is ideal";
  const std::string given =
      "if the clock has no jitter, the repairs below are right and the sampler "
      "is ideal";
  CHECK(words_of(r).find(ideal) != std::string::npos);
  CHECK(words_of(r).find(given) == std::string::npos);
  r.captures[0].channels[0].edges.missing = 1;
  CHECK(words_of(r).find(ideal) == std::string::npos);
  CHECK(words_of(r).find(given) != std::string::npos);
}

TEST_CASE("text_report: long names and long lists do not flood a terminal") {
  Record r = measured_record();
  r.captures[0].channels[0].name = std::string(3'000'000, 'x');
  for (int i = 0; i < 50'000; ++i) {
    r.captures[0].idle_channels.push_back({"idle", {}, 1, true});
  }
  r.captures[0].warnings[0].message += std::string(3'000'000, 'y');
  const std::string text = text_of(r);
  CHECK(text.find("xx… (3000000 bytes)\n") != std::string::npos);
  CHECK(text.find("(50002 in all)") != std::string::npos);
  CHECK(text.size() < 8000);
  check_width(text);
}

TEST_CASE("text_report: colour adds nothing but colour") {
  TextOptions color;
  color.color = true;
  std::string text = text_of(failing_record(), color);
  CHECK(text.starts_with("\x1b[1;31mFAIL\x1b[0m  clock output"));
  for (const std::string code : {"\x1b[1;31m", "\x1b[0m"}) {
    for (auto at = text.find(code); at != std::string::npos;
         at = text.find(code)) {
      text.erase(at, code.size());
    }
  }
  CHECK(text == text_of(failing_record()));
}

TEST_CASE("text_report: an assumed timebase is always said") {
  for (Record r : {passing_record(), failing_record(), measured_record()}) {
    r.timebase = Timebase{};
    for (const bool quiet : {false, true}) {
      TextOptions options;
      options.quiet = quiet;
      CHECK(
          text_of(r, options).find("timebase: assumed 100 ppm, not stated\n") !=
          std::string::npos);
    }
  }
}

TEST_CASE("text_report: a missing clock is said in the first line") {
  Record r = failing_record();
  r.verdicts[0].channel = std::nullopt;
  r.verdicts[0].error = std::nullopt;
  r.verdicts[0].expanded_uncertainty = std::nullopt;
  r.verdicts[0].implied_source = std::nullopt;
  r.verdicts[0].checks.clear();
  r.errors.clear();
  CHECK(first_line(text_of(r)) == "FAIL  clock output  no clock");
}

TEST_CASE("text_report: beside a capture that was refused the file is named") {
  CHECK(first_line(text_of(failing_record()))
            .starts_with("FAIL  clock output, board.csv  8.000 024 MHz"));
}

TEST_CASE("text_report: several captures are told apart in the first lines") {
  Record r = passing_record();
  r.captures.push_back(r.captures[0]);
  r.captures[1].path = "second.csv";
  r.verdicts.push_back(r.verdicts[0]);
  r.verdicts[1].capture = "second.csv";
  const std::string text = text_of(r);
  CHECK(text.starts_with("PASS  clock output, board.csv  11.999"));
  CHECK(text.find("\nPASS  clock output, second.csv  11.999") <
        text.find("U is made of"));
}

TEST_CASE("text_report: no line is wider than 80 columns, whatever the names") {
  constexpr std::uint32_t kSeed = 20240611;  // chosen: any
  INFO("seed " << kSeed);
  std::mt19937 random(kSeed);
  const std::string bytes = std::string(" \x1b\n\t\xff\xc3 a<") + "時\u202E";
  for (int round = 0; round < 300; ++round) {
    std::string name;
    const std::size_t length = random() % 300;
    while (name.size() < length) {
      random() % 4 == 0 ? name += "時計 "
                        : name += bytes[random() % bytes.size()];
    }
    for (Record r : {failing_record(), undecided_record(), measured_record()}) {
      r.captures[0].path = name;
      r.captures[0].channels[0].name = name;
      r.captures[0].idle_channels = {{name, {}, 0, true}, {name, {}, 1, true}};
      r.errors.push_back(Error{ErrorCode::kBadData, name, name, name, 1, 2});
      for (Verdict& v : r.verdicts) {
        v.clock = v.capture = name;
        v.channel = name;
        v.reasons.push_back(name);
        for (Cause& c : v.causes) c.cause = name;
      }
      const std::string text = text_of(r);
      check_width(text);
      CHECK(text.find('\x1b') == std::string::npos);
      CHECK(text.find('\xff') == std::string::npos);
      CHECK(text.find('\x1f') == std::string::npos);
    }
  }
}

TEST_CASE("text_report: the stability table, with what limits it") {
  const std::string text = text_of(stability_record());
  check_golden("stability.txt", text);
  check_width(text);
  // Marked where the sampling is the reason, and only there.
  CHECK(text.find("\n  83.33 ns  6.80e-02*  6.80e-02  ") != std::string::npos);
  CHECK(text.find("\n  10.92 ms  3.74e-08   3.10e-08  ") != std::string::npos);
  CHECK(text.find("instrument's own clock") != std::string::npos);
  // Without intervals, or without points.
  Record r = stability_record();
  Stability& s = *r.captures[0].channels[0].stability;
  s.points.resize(1);
  s.points[0].adev_low = s.points[0].adev_high = {};
  s.points[0].mtie = {};
  s.points[0].hdev = 0.0;
  CHECK(
      text_of(r).find("\n  83.33 ns   6.8e-02*         -         -   6.8e-02  "
                      "       0   3.3 ns        -\n") != std::string::npos);
  s.points.clear();
  CHECK(text_of(r).find("stability     not formed: too few cycles") !=
        std::string::npos);
}

TEST_CASE("text_report: which time the stability stands in is said") {
  Record r = stability_record();
  Stability& s = *r.captures[0].channels[0].stability;
  const auto said = [&](const std::string& words) {
    std::string text = text_of(r);
    check_width(text);
    // Lines of it are broken anywhere.
    std::string joined;
    for (const char c : text) {
      const bool blank = c == ' ' || c == '\n';
      if (!blank || !joined.ends_with(' ')) joined += blank ? ' ' : c;
    }
    return joined.find(words) != std::string::npos;
  };
  const char* own = "the instrument's own clock is in these figures too";
  CHECK(said(own));
  s.reference = StabilityReference{Seconds(0.5), {}, Seconds(1e-8)};
  CHECK(said(own));
  CHECK(said("too far apart for these tau, they serve from tau = 500.0 ms on"));
  s.reference = StabilityReference{Seconds(2e-3), Seconds(3e-9), Seconds(1e-8)};
  s.points[1].against_reference = true;
  CHECK_FALSE(said(own));
  CHECK(
      said("from tau = 10.92 ms on against the reference: of the two clocks "
           "together"));
  CHECK(said("below, its edges are too far apart"));
  s.points[0].against_reference = true;
  CHECK(said("from tau = 83.33 ns on against the reference"));
  CHECK_FALSE(said("below, its edges are too far apart"));
}

TEST_CASE("text_report: a number that is not finite is our bug, not output") {
  Record r = passing_record();
  r.captures[0].channels[0].duty->value =
      std::numeric_limits<double>::quiet_NaN();
  const auto text = text_report(r, {});
  REQUIRE_FALSE(text.has_value());
  CHECK(text.error().code == ErrorCode::kInternal);
  CHECK(text.error().message ==
        "a result is not a finite number: /captures/0/channels/0/duty/value");
}
