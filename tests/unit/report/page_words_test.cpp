// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/page_words.h"

#include <doctest/doctest.h>

using namespace clockassay;

TEST_CASE("page_words: figures get a minus and stay with their unit") {
  CHECK(page_words("-3.0 ppm \u00B1 2.1 ppm") ==
        "\u22123.0\u00A0ppm \u00B1 2.1\u00A0ppm");
  CHECK(page_words("offset -0.6 ppm corrected") ==
        "offset \u22120.6\u00A0ppm corrected");
  CHECK(page_words("over -60 \u2026 125 degC") ==
        "over \u221260 \u2026 125\u00A0\u00B0C");
  CHECK(page_words("-5300 \u2026 +300 ppm") ==
        "\u22125300 \u2026 +300\u00A0ppm");
  CHECK(page_words("-0.170 ppm/K, of -12.5, too") ==
        "\u22120.170\u00A0ppm/K, of \u221212.5, too");
  CHECK(page_words("12.000 731 MHz") == "12.000\u00A0731\u00A0MHz");
  CHECK(page_words("-20") == "\u221220");
  CHECK(page_words("relative to 25 degC; captured at 23 degC") ==
        "relative to 25\u00A0\u00B0C; captured at 23\u00A0\u00B0C");
}

TEST_CASE("page_words: what is typed, dates and names stay") {
  for (const char* text :
       {"--range -40..85", "--timebase=-0.6ppm", "-12.3ppm+-2ppm",
        "2026-01-03, 10:00", "crystal-2", "board -5", "usb-fs-device",
        "-40degC..85degC", "1e-9", "a - b", "top.clk -1.vcd", "-", "--"}) {
    CHECK(page_words(text) == text);
  }
}

TEST_CASE("page_lines: blanks that align stay as many") {
  CHECK(page_lines("     degC     error") == "       \u00B0C     error");
  CHECK(page_lines("   -40.0   -3.2 ppm") == "   \u221240.0   \u22123.2 ppm");
}
