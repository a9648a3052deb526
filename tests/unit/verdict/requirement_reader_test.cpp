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
  CHECK(asked->limits_ppm.low_ppm == Rational(-2500));
  CHECK(asked->limits_ppm.high_ppm == Rational(2500));
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
  CHECK(asked->limits_ppm.low_ppm == Rational(-3125));
  CHECK(asked->limits_ppm.high_ppm == Rational(3125));
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
        "key=number");
  CHECK(message_of("can-classic,") ==
        "requirement \"can-classic\": cannot read \"\", expected key=number");
  CHECK(message_of("usb-fs-device,sjw=1") ==
        "requirement \"usb-fs-device\": unknown parameter \"sjw\", it takes "
        "none");
  CHECK(message_of("rgmii-1000-duty") ==
        "requirement \"rgmii-1000-duty\": it does not limit the frequency, "
        "and only the frequency is judged in this version");
  CHECK(message_of("can-classic,sjw=5,tbit=16,pb1=5,pb2=4") ==
        "requirement \"can-classic\": CAN bit timing: found sjw = 5, expected "
        "at most the shorter phase buffer, 4");
}

}  // namespace
}  // namespace clockassay
