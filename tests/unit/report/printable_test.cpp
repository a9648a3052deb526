// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/report/printable.h"

#include <doctest/doctest.h>

using namespace clockassay;

TEST_CASE("printable: ordinary names stay as they are") {
  CHECK(printable("clk_out[3]") == "clk_out[3]");
  CHECK(printable("Takt µC, Größe ≤ 3") == "Takt µC, Größe ≤ 3");
  CHECK(printable("<script>") == "<script>");
  CHECK(printable("\U0001F552") == "\U0001F552");
}

TEST_CASE("printable: nothing can act on a terminal") {
  CHECK(printable("a\x1b[31mred") == "a\\x1b[31mred");
  CHECK(printable("line\r\nbreak\t") == "line\\x0d\\x0abreak\\x09");
  CHECK(printable(std::string_view("nul\0nul", 7)) == "nul\\x00nul");
  CHECK(printable("\x7f") == "\\x7f");
  // U+009B is a control sequence introducer of one character.
  CHECK(printable("\xC2\x9B") == "\\x9b");
  CHECK(printable("\u202Egpj.exe") == "\\u{202e}gpj.exe");
  CHECK(printable("zero\u200Bwidth") == "zero\\u{200b}width");
}

TEST_CASE("printable: bytes that are not UTF-8 become visible") {
  CHECK(printable("\xFF\xFE") == "\\xff\\xfe");
  CHECK(printable("cut \xC3") == "cut \\xc3");
  CHECK(printable("overlong \xC0\xAF") == "overlong \\xc0\\xaf");
  CHECK(printable("\xE0\x80\xAF") == "\\xe0\\x80\\xaf");
  CHECK(printable("surrogate \xED\xA0\x80") == "surrogate \\xed\\xa0\\x80");
  CHECK(printable("beyond \xF4\x90\x80\x80") == "beyond \\xf4\\x90\\x80\\x80");
}

TEST_CASE("valid_utf8: only bytes that are not UTF-8 change") {
  CHECK(valid_utf8("a\x1b\xFF") == "a\x1b\\xff");
  CHECK(valid_utf8("\u202E") == "\u202E");
}
