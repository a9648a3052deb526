// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/base/nearest_name.h"

#include <doctest/doctest.h>

#include <string>
#include <string_view>

namespace clockassay {
namespace {

constexpr std::string_view kKnown[] = {"tolerance", "channel", "usb-hs",
                                       "usb-fs-device", "duty"};

TEST_CASE("nearest_name: one slip of each kind is forgiven") {
  CHECK(nearest_name("tolerence", kKnown) == "tolerance");  // replaced
  CHECK(nearest_name("tolernce", kKnown) == "tolerance");   // left out
  CHECK(nearest_name("dutty", kKnown) == "duty");           // too many
  CHECK(nearest_name("chanenl", kKnown) == "channel");      // swapped
  CHECK(nearest_name("duyt", kKnown) == "duty");  // a swap is one slip, not two
  CHECK(nearest_name("Channel", kKnown) == "channel");  // wrong case
  CHECK(nearest_name("usb_fs_device", kKnown) == "usb-fs-device");
}

TEST_CASE("nearest_name: a beginning counts before a near other name") {
  // "usb-hs" is one letter away, but the text begins "usb-fs-device".
  CHECK(nearest_name("usb-fs", kKnown) == "usb-fs-device");
}

TEST_CASE("nearest_name: of equally near names the first wins") {
  constexpr std::string_view known[] = {"pin1", "pin2"};
  CHECK(nearest_name("pin3", known) == "pin1");
}

TEST_CASE("nearest_name: nothing near is no suggestion") {
  CHECK(nearest_name("", kKnown).empty());
  CHECK(nearest_name("x", kKnown).empty());
  CHECK(nearest_name("colour", kKnown).empty());
  CHECK(nearest_name(std::string(100000, 't'), kKnown).empty());
  CHECK(nearest_name("duty", {}).empty());
}

}  // namespace
}  // namespace clockassay
