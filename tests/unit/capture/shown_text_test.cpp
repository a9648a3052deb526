// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/shown_text.h"

#include <doctest/doctest.h>

namespace clockassay {
namespace {

TEST_CASE("shown_text: nothing but printable text comes out") {
  CHECK(shown_text("clk") == "\"clk\"");
  CHECK(shown_text("a\"b\\c") == "\"a\\\"b\\\\c\"");
  CHECK(shown_text("\x1B[31m\n\xE9") == "\"\\x1B[31m\\x0A\\xE9\"");
  CHECK(shown_text("Größe\u202E") == "\"Größe\\xE2\\x80\\xAE\"");
}

TEST_CASE("shown_text: long text is cut after 60 bytes") {
  CHECK(shown_text(std::string(60, 'a')) == "\"" + std::string(60, 'a') + "\"");
  CHECK(shown_text(std::string(61, 'a')) ==
        "\"" + std::string(60, 'a') + "…\"");
  // Never within a character.
  CHECK(shown_text(std::string(59, 'a') + "é") ==
        "\"" + std::string(59, 'a') + "…\"");
}

}  // namespace
}  // namespace clockassay
