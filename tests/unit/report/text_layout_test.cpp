// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/text_layout.h"

#include <doctest/doctest.h>

#include "report/display_width.h"

using namespace clockassay;

TEST_CASE("paragraph: breaks at blanks and indents what follows") {
  TextLayout out;
  out.paragraph(std::string(40, 'a') + ' ' + std::string(39, 'b') + " cc", 3);
  CHECK(out.text() ==
        std::string(40, 'a') + ' ' + std::string(39, 'b') + "\n   cc\n");
}

TEST_CASE("paragraph: a word longer than the line is cut") {
  TextLayout out;
  out.paragraph(std::string(100, 'a'), 2);
  CHECK(out.text() ==
        std::string(80, 'a') + "\n  " + std::string(20, 'a') + '\n');
}

TEST_CASE("paragraph: a number keeps its unit") {
  TextLayout out;
  out.paragraph(std::string(74, 'a') + ' ' + unbroken("12 MHz") + " end");
  CHECK(out.text() == std::string(74, 'a') + "\n12 MHz end\n");
}

TEST_CASE("labelled: the text stands beside the label") {
  TextLayout out;
  out.labelled("edges", "none");
  out.labelled("a label too long for it", "x");
  CHECK(out.text() == "  edges         none\n  a label too long for it x\n");
}

TEST_CASE("display_width: wide characters take two columns") {
  CHECK(display_width("±µ") == 2);
  CHECK(display_width("時計") == 4);
}
