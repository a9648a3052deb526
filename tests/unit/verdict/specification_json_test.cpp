// SPDX-License-Identifier: GPL-3.0-or-later
#include <doctest/doctest.h>

#include <string>
#include <string_view>

#include "clockassay/verdict/specification.h"

namespace clockassay {
namespace {

constexpr std::string_view kWhole = R"({
  "title": "field logger, main crystal changed",
  "captured_at": "23degC",  // room
  "clocks": [
    { "name": "clock output", "channel": "clk_out",
      "expect": "24MHz / 2",
      "tolerance": { "make": "20ppm", "temperature": "30ppm",
                     "ageing": "-1ppm..5ppm", "combine": "rss" },
      "requirements": [ "usb-fs-device",
        { "id": "can-classic", "sjw": 1, "tbit": 16, "pb1": 5, "pb2": 4 } ] },
    { "expect": "32.768kHz", "tolerance": "20ppm" } ],
  "suspects": [
    { "name": "the former crystal", "frequency": "16MHz",
      "tolerance": "50ppm" } ]
})";

// A specification of one clock with `members` beside expect and tolerance.
std::string with_clock(std::string_view members) {
  return R"({"clocks": [{"expect": "12MHz", "tolerance": "30ppm", )" +
         std::string(members) + "}]}";
}

Error error_of(std::string_view text) {
  const Result<Specification> s = parse_specification(text);
  REQUIRE_FALSE(s);
  CHECK(s.error().code == ErrorCode::kBadSpec);
  return s.error();
}

std::string message_of(std::string_view text) {
  return error_of(text).message;
}

TEST_CASE("parse_specification: reads every key it judges") {
  const Result<Specification> s = parse_specification(kWhole);
  REQUIRE(s);
  CHECK(s->title == "field logger, main crystal changed");
  REQUIRE(s->clocks.size() == 2);
  const ClockSpec& clock = s->clocks[0];
  CHECK(clock.name == "clock output");
  CHECK(*clock.channel == "clk_out");
  CHECK(clock.expect.source_hz == Rational(24000000));
  CHECK(clock.expect.frequency_hz == Rational(12000000));
  CHECK(clock.tolerance.make.high_ppm == Rational(20));
  CHECK(clock.tolerance.temperature->low_ppm == Rational(-30));
  CHECK(clock.tolerance.ageing->low_ppm == Rational(-1));
  CHECK(clock.tolerance.ageing->high_ppm == Rational(5));
  CHECK(clock.tolerance.combine == CombineRule::kRootSumSquare);
  REQUIRE(clock.requirements.size() == 2);
  CHECK(clock.requirements[0].id == "usb-fs-device");
  CHECK(clock.requirements[1].limits_ppm->high_ppm == Rational(3125));
  REQUIRE(s->suspects.size() == 1);
  CHECK(s->suspects[0].name == "the former crystal");
  CHECK(s->suspects[0].frequency_hz == Rational(16000000));
  CHECK(s->suspects[0].tolerance_ppm.high_ppm == Rational(50));
}

TEST_CASE("parse_specification: a clock without a name takes one") {
  const Result<Specification> s = parse_specification(kWhole);
  REQUIRE(s);
  CHECK(s->clocks[1].name == "32.768kHz");
  CHECK_FALSE(s->clocks[1].channel);
  CHECK(s->clocks[1].tolerance.combine == CombineRule::kSum);
  const Result<Specification> named =
      parse_specification(with_clock(R"("channel": "mco")"));
  REQUIRE(named);
  CHECK(named->clocks[0].name == "mco");
}

TEST_CASE("parse_specification: an unknown key is named with the nearest") {
  const Error top = error_of(R"({"clocs": []})");
  CHECK(top.message ==
        "/clocs: unknown key, allowed are title, captured_at, clocks, "
        "suspects");
  CHECK(top.hint == "did you mean \"clocks\"?");
  const Error clock = error_of(with_clock(R"("chanel": "a")"));
  CHECK(clock.message ==
        "/clocks/0/chanel: unknown key, allowed are name, channel, expect, "
        "source, tolerance, requirements, duty, settle_within, "
        "period_jitter_rms, "
        "load");
  CHECK(clock.hint == "did you mean \"channel\"?");
  const Error tolerance = error_of(
      R"({"clocks": [{"expect": "12MHz", "tolerance": {"made": "1ppm"}}]})");
  CHECK(tolerance.message ==
        "/clocks/0/tolerance/made: unknown key, allowed are make, "
        "temperature, ageing, combine");
  CHECK(tolerance.hint == "did you mean \"make\"?");
}

TEST_CASE("parse_specification: a duty and a period jitter") {
  const auto read = parse_specification(with_clock(
      R"("duty": {"low": 0.4, "high": 0.6}, "period_jitter_rms": "300ps")"));
  REQUIRE(read);
  const ClockSpec& clock = read->clocks.at(0);
  REQUIRE(clock.duty);
  CHECK(clock.duty->low == 0.4);
  CHECK(clock.duty->high == 0.6);
  CHECK(clock.period_jitter_s == Rational::make(3, 10'000'000'000));
}

TEST_CASE("parse_specification: a duty or a jitter that cannot be") {
  CHECK(message_of(with_clock(R"("duty": 0.5)")) ==
        "/clocks/0/duty: found the number 0.5, expected an object");
  CHECK(message_of(with_clock(R"("duty": {"low": 0.4})")) ==
        "/clocks/0/duty: the key \"high\" is missing");
  CHECK(message_of(with_clock(R"("duty": {"low": 40, "high": 60})")) ==
        "/clocks/0/duty/low: found the number 40, expected a fraction from 0 "
        "to 1");
  CHECK(message_of(with_clock(R"("duty": {"low": 0.6, "high": 0.4})")) ==
        "/clocks/0/duty: found a low above the high");
  CHECK(message_of(with_clock(R"("duty": {"low": 0.4, "hihg": 0.6})")) ==
        "/clocks/0/duty/hihg: unknown key, allowed are low, high");
  CHECK(message_of(with_clock(R"("period_jitter_rms": "0ps")")) ==
        "/clocks/0/period_jitter_rms: found \"0ps\", expected a time above "
        "zero");
}

TEST_CASE("parse_specification: a time for settling is above zero") {
  const auto spec =
      parse_specification(with_clock(R"("settle_within": "5ms")"));
  REQUIRE(spec);
  CHECK(spec->clocks[0].settle_within_s == Rational::make(5, 1000));
  CHECK(message_of(with_clock(R"("settle_within": "0 s")")) ==
        "/clocks/0/settle_within: found \"0 s\", expected a time above zero");
  CHECK(message_of(with_clock(R"("settle_within": true)")) ==
        "/clocks/0/settle_within: found true, expected text");
  // The reader of times says what is wrong with one.
  const std::string wrong = message_of(with_clock(R"("settle_within": "5Hz")"));
  CHECK(wrong.rfind("/clocks/0/settle_within: ", 0) == 0);
}

TEST_CASE("parse_specification: a bare number is SI, as text and as number") {
  for (const char* expect : {"12000000", "\"12000000\"", "12e6", "\"12MHz\""}) {
    CAPTURE(expect);
    const auto read =
        parse_specification(R"({"clocks": [{"expect": )" + std::string(expect) +
                            R"(, "tolerance": "1ppm"}],
            "suspects": [{"name": "another", "frequency": 8000000,
                          "tolerance": "1ppm"}]})");
    REQUIRE(read);
    CHECK(read->clocks[0].expect.frequency_hz == Rational(12'000'000));
    CHECK(read->suspects[0].frequency_hz == Rational(8'000'000));
    CHECK(read->clocks[0].remarks.empty());
  }
  const auto jitter =
      parse_specification(with_clock(R"("period_jitter_rms": 3e-10)"));
  REQUIRE(jitter);
  CHECK(jitter->clocks[0].period_jitter_s == Rational::make(3, 10'000'000'000));
}

TEST_CASE("parse_specification: a time without a unit is remarked on") {
  for (const char* time : {"5", "\"5\""}) {
    const auto read = parse_specification(
        with_clock(R"("settle_within": )" + std::string(time)));
    REQUIRE(read);
    CHECK(read->clocks[0].settle_within_s == Rational(5));
    REQUIRE(read->clocks[0].remarks.size() == 1);
    CHECK(read->clocks[0].remarks[0] ==
          "settle_within has no unit and was read as 5 s.");
  }
  const auto suspect = parse_specification(
      R"({"clocks": [{"expect": "24MHz", "tolerance": "1ppm"}],
          "suspects": [{"name": "another", "frequency": "16",
                        "tolerance": "1ppm"}]})");
  REQUIRE(suspect);
  REQUIRE(suspect->clocks[0].remarks.size() == 1);
  CHECK(suspect->clocks[0].remarks[0] ==
        "The frequency of the suspect \"another\" has no unit and was read as "
        "16 Hz.");
}

TEST_CASE("parse_specification: a jitter no clock has limits nothing") {
  // 300 ps were meant: with 300 s any clock would pass.
  const Error error = error_of(with_clock(R"("period_jitter_rms": "300")"));
  CHECK(error.message.starts_with(
      "/clocks/0/period_jitter_rms: found 300 s, expected less than the "
      "period, "));
  CHECK(error.hint ==
        "a bare number is seconds: write the unit, for example \"300ps\"");
}

TEST_CASE("parse_specification: wrong types say what was found") {
  CHECK(message_of("[]") ==
        "the whole document: found a list, expected an object");
  CHECK(message_of(R"({"clocks": {}})") ==
        "/clocks: found an object, expected a list");
  CHECK(message_of(R"({"clocks": [7]})") ==
        "/clocks/0: found the number 7, expected an object");
  CHECK(message_of(R"({"clocks": [{"expect": true, "tolerance": "1ppm"}]})") ==
        "/clocks/0/expect: found true, expected text");
  const Error tolerance =
      error_of(R"({"clocks": [{"expect": "12MHz", "tolerance": 30}]})");
  CHECK(tolerance.message ==
        "/clocks/0/tolerance: found the number 30, expected text or an object");
  CHECK(tolerance.hint ==
        "a tolerance needs its unit, for example \"30ppm\" or { \"make\": "
        "\"20ppm\", \"temperature\": "
        "\"30ppm\" }");
  CHECK(message_of(with_clock(R"("name": null)")) ==
        "/clocks/0/name: found null, expected text");
  CHECK(message_of(with_clock(R"("channel": "")")) ==
        "/clocks/0/channel: found empty text, expected for example "
        "\"clk_out\"");
  CHECK(message_of(with_clock(R"("requirements": "midi")")) ==
        "/clocks/0/requirements: found text, expected a list");
  CHECK(message_of(with_clock(R"("requirements": [true])")) ==
        "/clocks/0/requirements/0: found true, expected text or an object");
  CHECK(message_of(with_clock(
            R"("requirements": [{"id": "can-classic", "sjw": true}])")) ==
        "/clocks/0/requirements/0/sjw: found true, expected a number, or text "
        "with a quantity");
  CHECK(
      message_of(with_clock(
          R"("requirements": [{"id": "can-classic", "sjw": "one", "tbit": 16,
                                 "pb1": 5, "pb2": 4}])")) ==
      "/clocks/0/requirements/0: requirement \"can-classic\": parameter "
      "\"sjw\": found \"one\", expected sjw, tbit, pb1, pb2 all as numbers of "
      "time quanta or all as times");
  CHECK(message_of(with_clock(
            R"("requirements": [{"id": "uart", "clock": "24MHz", "baud": 115200,
                                 "oversampling": 16, "frame_bits": 10}])")) ==
        "/clocks/0/requirements/0: requirement \"uart\": parameter \"far_end\" "
        "is missing, expected clock, baud, oversampling, frame_bits, far_end");
  CHECK(message_of(R"({"title": 3, "clocks": []})") ==
        "/title: found the number 3, expected text");
}

TEST_CASE("parse_specification: what is missing is named") {
  CHECK(message_of("{}") ==
        "the whole document: the key \"clocks\" is missing");
  CHECK(message_of(R"({"clocks": []})") ==
        "/clocks: found an empty list, expected at least one clock");
  CHECK(message_of(R"({"clocks": [{"tolerance": "30ppm"}]})") ==
        "/clocks/0: the key \"expect\" is missing");
  CHECK(message_of(R"({"clocks": [{"expect": "12MHz"}]})") ==
        "/clocks/0: the key \"tolerance\" is missing");
  CHECK(message_of(R"({"clocks": [{"expect": "12MHz", "tolerance": {}}]})") ==
        "/clocks/0/tolerance: the key \"make\" is missing");
  CHECK(message_of(with_clock(R"("requirements": [{"sjw": 1}])")) ==
        "/clocks/0/requirements/0: the key \"id\" is missing");
}

TEST_CASE("parse_specification: values are checked where they stand") {
  CHECK(message_of(R"({"clocks": [{"expect": "12mHz", "tolerance": "1ppm"}]})")
            .starts_with("/clocks/0/expect: clock path \"12mHz\", column 1: "));
  CHECK(message_of(R"({"clocks": [{"expect": "12MHz", "tolerance": "30"}]})") ==
        "/clocks/0/tolerance: cannot read \"30\" as a fraction: found no unit, "
        "allowed are ppm, ppb, %");
  CHECK(message_of(R"({"clocks": [{"expect": "12MHz",
                       "tolerance": {"make": "1ppm", "ageing": "x"}}]})")
            .starts_with("/clocks/0/tolerance/ageing: cannot read \"x\""));
  CHECK(message_of(R"({"clocks": [{"expect": "12MHz",
                       "tolerance": {"make": "1ppm", "combine": "max"}}]})") ==
        "/clocks/0/tolerance/combine: found \"max\", expected \"sum\" or "
        "\"rss\"");
  CHECK(message_of(with_clock(R"("requirements": ["usb-fs-devise"])")) ==
        "/clocks/0/requirements/0: requirement \"usb-fs-devise\": there is "
        "none of that id");
  const std::string suspect =
      R"({"clocks": [{"expect": "12MHz", "tolerance": "1ppm"}], "suspects": )";
  CHECK(message_of(suspect + R"([{"name": "a", "frequency": "0Hz",
                                  "tolerance": "1ppm"}]})")
            .starts_with("/suspects/0/frequency: cannot read \"0Hz\""));
  CHECK(message_of(suspect + R"([{"name": "a", "frequency": "1MHz"}]})") ==
        "/suspects/0: the key \"tolerance\" is missing");
  CHECK(message_of(suspect + R"([{"frequency": "1MHz"}]})") ==
        "/suspects/0: the key \"name\" is missing");
  CHECK(message_of(suspect + "{}}") ==
        "/suspects: found an object, expected a list");
}

TEST_CASE("parse_specification: CAN numbers are taken as they are written") {
  // In microseconds: min(0.1 / (20 * 1), 0.2 / (2 * (13 - 0.2))) = 5000 ppm
  // exactly; a double's 0.1 would not be.
  const Result<Specification> s = parse_specification(with_clock(
      R"("requirements": [{"id": "can-classic", "sjw": 0.1, "tbit": 1.0,
                           "pb1": 0.2, "pb2": 0.2}])"));
  REQUIRE(s);
  CHECK(s->clocks[0].requirements[0].limits_ppm->high_ppm == Rational(5000));
}

TEST_CASE("parse_specification: a UART link is worked out") {
  const Result<Specification> s = parse_specification(with_clock(
      R"("requirements": [{"id": "uart", "clock": "14.7456MHz", "baud": 115200,
                           "oversampling": 16, "frame_bits": 10,
                           "far_end": "2%"}])"));
  REQUIRE(s);
  // 1.02/(160/154) - 1 (tests of uart_tolerance).
  CHECK(s->clocks[0].requirements[0].limits_ppm->low_ppm == Rational(-18250));
}

TEST_CASE("parse_specification: any prefix is an error, never a crash") {
  for (std::size_t n = 0; n + 1 < kWhole.size(); ++n) {
    CAPTURE(n);
    CHECK_FALSE(parse_specification(kWhole.substr(0, n)));
  }
}

TEST_CASE(
    "parse_specification: the temperature of the capture is each clock's") {
  const Result<Specification> s = parse_specification(kWhole);
  REQUIRE(s);
  for (const ClockSpec& clock : s->clocks) {
    CHECK(clock.tolerance.captured_at_c == Rational(23));
  }
  CHECK(message_of(R"({ "captured_at": "warm", "clocks": [
          { "expect": "12MHz", "tolerance": "30ppm" } ] })") ==
        "/captured_at: cannot read \"warm\" as a temperature: found no number, "
        "expected a decimal number and a unit");
}

TEST_CASE("parse_specification: a duty alone, of another frequency") {
  const Result<Specification> s = parse_specification(
      R"({ "clocks": [ { "expect": "125MHz / 5", "tolerance": "50ppm",
                         "requirements": [ "rgmii-1000-duty" ] } ] })");
  REQUIRE_FALSE(s);
  CHECK(s.error().code == ErrorCode::kBadSpec);
  CHECK(s.error().message.starts_with(
      "/clocks/0/requirements/0: requirement \"rgmii-1000-duty\": it limits "
      "the duty alone"));
}

}  // namespace
}  // namespace clockassay
