// SPDX-License-Identifier: GPL-3.0-or-later
#include "verdict/requirement_reader.h"

#include <doctest/doctest.h>

#include <string>

namespace clockassay {
namespace {

std::string message_of(std::string_view text) {
  const Result<RequirementAsked> asked = read_requirement_option(text);
  if (asked) return "";
  CHECK(asked.error().code == ErrorCode::kUsage);
  return asked.error().message;
}

TEST_CASE("read_requirement_option: takes limits and source of the row") {
  const Result<RequirementAsked> asked =
      read_requirement_option("usb-fs-device");
  REQUIRE(asked);
  CHECK(asked->id == "usb-fs-device");
  // USB 2.0, 7.1.11: ±0.25 %.
  CHECK(asked->limits_ppm->low_ppm == Rational(-2500));
  CHECK(asked->limits_ppm->high_ppm == Rational(2500));
  CHECK(asked->source.starts_with("USB 2.0"));
  CHECK(asked->may_decide);
}

TEST_CASE("read_requirement_option: a row known from memory is advisory") {
  const Result<RequirementAsked> asked = read_requirement_option("gmii-gtxclk");
  REQUIRE(asked);
  CHECK_FALSE(asked->may_decide);
}

TEST_CASE("read_requirement_option: CAN is worked out from its bit timing") {
  const Result<RequirementAsked> asked =
      read_requirement_option("can-classic,sjw=1,tbit=16,pb1=5,pb2=4");
  REQUIRE(asked);
  // min(1 / (20 * 16), 4 / (2 * (13 * 16 - 4))) = min(1/320, 1/102): 3125 ppm.
  CHECK(asked->limits_ppm->low_ppm == Rational(-3125));
  CHECK(asked->limits_ppm->high_ppm == Rational(3125));
}

TEST_CASE("read_requirement_option: CAN in seconds is CAN in time quanta") {
  // The same at 62.5 ns a quantum.
  for (const char* text :
       {"can-classic,sjw=62.5ns,tbit=1us,pb1=312.5ns,pb2=250ns",
        "can-classic,sjw=62.5e-9,tbit=1e-6,pb1=312.5e-9,pb2=250e-9"}) {
    CAPTURE(text);
    const Result<RequirementAsked> asked = read_requirement_option(text);
    REQUIRE(asked);
    CHECK(asked->limits_ppm->high_ppm == Rational(3125));
    CHECK(asked->limits_ppm->low_ppm == Rational(-3125));
  }
  // Seconds among quanta, either way round, and what is neither.
  CHECK(message_of("can-classic,sjw=62.5ns,tbit=16,pb1=5,pb2=4") ==
        "requirement \"can-classic\": parameter \"sjw\": found \"62.5ns\" "
        "beside numbers without a unit, expected sjw, tbit, pb1, pb2 all as "
        "numbers of time quanta or all as times");
  CHECK(message_of("can-classic,sjw=62.5ns,tbit=1us,pb1=5,pb2=250ns") ==
        "requirement \"can-classic\": parameter \"sjw\": found \"62.5ns\" "
        "beside numbers without a unit, expected sjw, tbit, pb1, pb2 all as "
        "numbers of time quanta or all as times");
  CHECK(message_of("can-classic,sjw=1,tbit=16MHz,pb1=5,pb2=4") ==
        "requirement \"can-classic\": parameter \"tbit\": found \"16MHz\", "
        "expected sjw, tbit, pb1, pb2 all as numbers of time quanta or all as "
        "times");
}

TEST_CASE("read_requirement_option: limits are rounded inwards") {
  // 16 MHz / (16 * 9) / 115200 - 1 = -3.549 %: both limits are above zero, by
  // hand 1.02/1.038961/0.964506 - 1 = 17878.4 (exactly), and
  // 1.038961 * 0.98/0.964506 - 1 = 55650.909…
  const Result<RequirementAsked> asked = read_requirement_option(
      "uart,clock=16MHz,baud=115200,oversampling=16,frame_bits=10,far_end=2%");
  REQUIRE(asked);
  CHECK(asked->limits_ppm->low_ppm == Rational::make(178784, 10));
  CHECK(asked->limits_ppm->high_ppm == Rational::make(556509, 10));
  // 4/(2 * 126) = 1/63: 15873.0158… ppm.
  const Result<RequirementAsked> can =
      read_requirement_option("can-classic,sjw=4,tbit=10,pb1=4,pb2=4");
  REQUIRE(can);
  CHECK(can->limits_ppm->high_ppm == Rational(15873));
  CHECK(can->limits_ppm->low_ppm == Rational(-15873));
}

TEST_CASE("read_requirement_option: CAN FD, with what limits it") {
  const Result<RequirementAsked> asked = read_requirement_option(
      "can-fd,nsjw=32,ntbit=160,npb1=32,npb2=32,nbrp=1,dsjw=8,dtbit=40,dpb2=8,"
      "dbrp=1");
  REQUIRE(asked);
  // A controller maker's segments, formulas from public code after
  // ISO 11898-1:2015: 0.78125 %.
  CHECK(asked->limits_ppm->high_ppm.to_double() == 7812.5);
  CHECK(asked->limits_ppm->low_ppm.to_double() == -7812.5);
  CHECK(asked->source ==
        "ISO 11898-1:2015 oscillator tolerance; strictest is the nominal phase "
        "buffers");
  CHECK(asked->may_decide);
  CHECK(
      message_of("can-fd,nsjw=32") ==
      "requirement \"can-fd\": parameter \"ntbit\" is missing, expected nsjw, "
      "ntbit, npb1, npb2, nbrp, dsjw, dtbit, dpb2, dbrp");
}

TEST_CASE("read_requirement_option: a UART link, with what it is worked from") {
  const Result<RequirementAsked> asked = read_requirement_option(
      "uart,clock=14.7456MHz,baud=115200,oversampling=16,frame_bits=10,"
      "far_end=2%");
  REQUIRE(asked);
  // 1.02/(160/154) - 1 (tests of uart_tolerance).
  CHECK(asked->limits_ppm->low_ppm == Rational(-18250));
  // 0.98 * 160/154 - 1 = 18181.818…, inwards to a tenth.
  CHECK(asked->limits_ppm->high_ppm == Rational::make(181818, 10));
  CHECK(asked->source ==
        "component reference manuals; ticks 8 to 10 of 16, 10 bits a frame, "
        "far end ±20000 ppm, divisor 8 off by 0 ppm");
  // A divisor with a fraction: 16 MHz / (8 * 17.375) / 115200 - 1 = -799 ppm.
  const Result<RequirementAsked> other = read_requirement_option(
      "uart,clock=16MHz,baud=115200,oversampling=8,frame_bits=10,"
      "far_end=5000ppm,divisor=17.375,first_sample=4,last_sample=4");
  REQUIRE(other);
  CHECK(other->source.ends_with(
      "ticks 4 to 4 of 8, 10 bits a frame, far end ±5000 ppm, divisor 17.375 "
      "off by -799.36 ppm"));
}

TEST_CASE("read_requirement_option: the far end of a UART may be perfect") {
  const Result<RequirementAsked> asked = read_requirement_option(
      "uart,clock=14.7456MHz,baud=115200,oversampling=16,frame_bits=10,"
      "far_end=0%");
  REQUIRE(asked);
  // Sending: 147/154 - 1 = -45454.5…, receiving 1/(160/154) - 1 = -37500. Both
  // ways the nearer one counts; 160/154 - 1 = 38961.03…, inwards to a tenth.
  CHECK(asked->limits_ppm->low_ppm == Rational(-37500));
  CHECK(asked->limits_ppm->high_ppm == Rational::make(389610, 10));
}

TEST_CASE("read_requirement_option: a baud in thousands is refused or asked") {
  const std::string rest = ",oversampling=16,frame_bits=10,far_end=1%";
  CHECK(message_of("uart,clock=24MHz,baud=921.6" + rest)
            .find("found baud = 921.6, expected a whole number") !=
        std::string::npos);
  // 24 MHz / 16 is 1.5 MHz: beyond 16 bits.
  CHECK(message_of("uart,clock=24MHz,baud=1" + rest)
            .find("found divisor = 1500000, expected at most 65536") !=
        std::string::npos);
  const auto asked =
      read_requirement_option("uart,clock=24MHz,baud=1200" + rest);
  REQUIRE(asked);
  CHECK(asked->source.ends_with(
      "divisor 1250 off by 0 ppm (so large a divisor makes 1200 baud: is that "
      "meant?)"));
  const auto usual =
      read_requirement_option("uart,clock=24MHz,baud=9600" + rest);
  REQUIRE(usual);
  CHECK(usual->source.find("meant") == std::string::npos);
}

TEST_CASE("read_requirement_option: what a UART link lacks is named") {
  const std::string link = "uart,clock=16MHz,baud=115200,frame_bits=10";
  CHECK(message_of(link + ",far_end=2%") ==
        "requirement \"uart\": parameter \"oversampling\" is missing, expected "
        "clock, baud, oversampling, frame_bits, far_end");
  CHECK(message_of(link + ",far_end=2%,oversampling=8") ==
        "requirement \"uart\": parameter \"first_sample\" is missing, expected "
        "both first_sample and last_sample");
  CHECK(message_of(link + ",far_end=2%,oversampling=16,last_sample=10") ==
        "requirement \"uart\": parameter \"first_sample\" is missing, expected "
        "both first_sample and last_sample");
  CHECK(
      message_of(link + ",far_end=2%,oversampling=16.5") ==
      "requirement \"uart\": parameter \"oversampling\": found 16.5, expected "
      "a whole number");
  CHECK(message_of(link + ",far_end=2,oversampling=16")
            .starts_with("requirement \"uart\": parameter \"far_end\": "));
  CHECK(
      message_of(link + ",far_end=2%,oversampling=16,parity=even") ==
      "requirement \"uart\": unknown parameter \"parity\", allowed are clock, "
      "baud, oversampling, frame_bits, far_end, divisor, first_sample, "
      "last_sample");
  CHECK(message_of("uart,clock=16MHz,baud=fast,oversampling=16,frame_bits=10,"
                   "far_end=2%") ==
        "requirement \"uart\": parameter \"baud\": found \"fast\", expected a "
        "number without a unit");
  CHECK(message_of("uart,clock=16MHz,baud=0,oversampling=16,frame_bits=10,"
                   "far_end=2%") ==
        "requirement \"uart\": UART: found baud = 0, expected more than zero");
}

TEST_CASE("read_requirement_option: time keeping, as it is stated") {
  const Result<RequirementAsked> asked =
      read_requirement_option("time-keeping,per_day=1.728s");
  REQUIRE(asked);
  CHECK(asked->limits_ppm->high_ppm == Rational(20));  // 1.728 / 86400
  CHECK(asked->source == "stated: 1.728 s in a day");
  CHECK(asked->may_decide);
  CHECK(message_of("time-keeping") ==
        "requirement \"time-keeping\": found 0 parameters, expected one of "
        "per_day, per_month, per_year");
  CHECK(message_of("time-keeping,per_day=2s,per_year=2s") ==
        "requirement \"time-keeping\": found 2 parameters, expected one of "
        "per_day, per_month, per_year");
  CHECK(message_of("time-keeping,per_day=0s") ==
        "requirement \"time-keeping\": time keeping: found 0 s to gain or lose "
        "in 86400 s, expected more than 0 and less than all of it");
}

TEST_CASE("read_requirement_option: the duty of the row, and of what it is") {
  const Result<RequirementAsked> asked =
      read_requirement_option("mii-txclk-100");
  REQUIRE(asked);
  REQUIRE(asked->duty);
  // IEEE 802.3, 22.2.2.1 (clause number from memory): 35 to 65 % of 25 MHz.
  CHECK(asked->duty->low == 0.35);
  CHECK(asked->duty->high == 0.65);
  CHECK(asked->nominal_hz == Rational(25'000'000));
  CHECK(is_asked_of(*asked, 25'000'000));
  CHECK_FALSE(is_asked_of(*asked, 12'500'000));
  const Result<RequirementAsked> anywhere =
      read_requirement_option("ble-active");
  REQUIRE(anywhere);
  CHECK_FALSE(anywhere->duty);
  CHECK_FALSE(is_asked_of(*anywhere, 16'000'000));
}

TEST_CASE("check_shown: a duty alone is asked of the pin that carries it") {
  const Result<RequirementAsked> duty =
      read_requirement_option("rgmii-1000-duty");
  REQUIRE(duty);
  CHECK_FALSE(duty->limits_ppm);
  CHECK(check_shown(*duty, 125'000'000));
  const Result<void> divided = check_shown(*duty, 25'000'000);
  REQUIRE_FALSE(divided);
  CHECK(divided.error().message ==
        "requirement \"rgmii-1000-duty\": it limits the duty alone, of a clock "
        "of 125 MHz, and the pin is expected to carry 25 MHz");
  // One that limits the frequency as well carries along a path.
  const Result<RequirementAsked> both =
      read_requirement_option("mii-txclk-100");
  REQUIRE(both);
  CHECK(check_shown(*both, 12'500'000));
}

TEST_CASE("read_requirement_option: refusals say what is wrong") {
  CHECK(message_of("usb-fs-devise") ==
        "requirement \"usb-fs-devise\": there is none of that id");
  CHECK(read_requirement_option("usb-fs-devise").error().hint ==
        "did you mean \"usb-fs-device\"?");
  CHECK(message_of("can-classic") ==
        "requirement \"can-classic\": parameter \"sjw\" is missing, expected "
        "sjw, tbit, pb1, pb2");
  CHECK(message_of("can-classic,sjw=1,tbit=16,pb1=5,pb3=4") ==
        "requirement \"can-classic\": unknown parameter \"pb3\", allowed are "
        "sjw, tbit, pb1, pb2");
  CHECK(message_of("can-classic,sjw=1,sjw=1,tbit=16,pb1=5,pb2=4") ==
        "requirement \"can-classic\": parameter \"sjw\" is given twice");
  CHECK(message_of("can-classic,sjw=,tbit=16,pb1=5,pb2=4") ==
        "requirement \"can-classic\": cannot read \"sjw=\", expected "
        "key=value");
  CHECK(message_of("can-classic,") ==
        "requirement \"can-classic\": cannot read \"\", expected key=value");
  CHECK(message_of("usb-fs-device,sjw=1") ==
        "requirement \"usb-fs-device\": unknown parameter \"sjw\", it takes "
        "none");
  CHECK(message_of("can-classic,sjw=5,tbit=16,pb1=5,pb2=4") ==
        "requirement \"can-classic\": CAN bit timing: found sjw = 5, expected "
        "at most the shorter phase buffer, 4");
}

}  // namespace
}  // namespace clockassay
