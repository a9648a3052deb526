// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/verdict/specification.h"

#include <doctest/doctest.h>

namespace clockassay {
namespace {

TEST_CASE("specification_from_options: one clock, named by its expression") {
  const Result<Specification> s = specification_from_options(
      "24MHz / 2", "30ppm",
      {"usb-fs-device", "can-classic,sjw=1,tbit=16,pb1=5,pb2=4"});
  REQUIRE(s);
  REQUIRE(s->clocks.size() == 1);
  const ClockSpec& clock = s->clocks[0];
  CHECK(clock.name == "24MHz / 2");
  CHECK_FALSE(clock.channel);
  CHECK(clock.expect.frequency_hz == Rational(12000000));
  CHECK(clock.tolerance.make.low_ppm == Rational(-30));
  CHECK(clock.tolerance.make.high_ppm == Rational(30));
  CHECK_FALSE(clock.tolerance.temperature);
  CHECK(clock.requirements.size() == 2);
  CHECK(s->suspects.empty());
}

TEST_CASE("specification_from_options: an error begins with its option") {
  const Result<Specification> expect =
      specification_from_options("24MHz / 0", "30ppm", {});
  REQUIRE_FALSE(expect);
  CHECK(expect.error().code == ErrorCode::kUsage);
  CHECK(expect.error().message ==
        "--expect: clock path \"24MHz / 0\", column 9: found a factor of 0, "
        "expected more than zero");
  const Result<Specification> tolerance =
      specification_from_options("24MHz / 2", "30", {});
  REQUIRE_FALSE(tolerance);
  CHECK(tolerance.error().message ==
        "--tolerance: cannot read \"30\" as a fraction: found no unit, allowed "
        "are ppm, ppb, %");
  const Result<Specification> requirement =
      specification_from_options("24MHz / 2", "30ppm", {"no-such-thing-xyz"});
  REQUIRE_FALSE(requirement);
  CHECK(requirement.error().message ==
        "--requirement: requirement \"no-such-thing-xyz\": there is none of "
        "that id");
}

TEST_CASE("specification_from_options: a duty alone, of another frequency") {
  CHECK(specification_from_options("125MHz", "50ppm", {"rgmii-1000-duty"}));
  const Result<Specification> divided =
      specification_from_options("125MHz / 5", "50ppm", {"rgmii-1000-duty"});
  REQUIRE_FALSE(divided);
  CHECK(divided.error().code == ErrorCode::kUsage);
  CHECK(divided.error().message.starts_with(
      "--requirement: requirement \"rgmii-1000-duty\": it limits the duty "
      "alone"));
}

}  // namespace
}  // namespace clockassay
