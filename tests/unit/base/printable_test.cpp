// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/base/printable.h"

#include <doctest/doctest.h>

#include <string>

using namespace clockassay;

TEST_CASE("printable: ordinary names stay as they are") {
  CHECK(printable("clk_out[3]") == "clk_out[3]");
  CHECK(printable("Takt µC, Größe ≤ 3") == "Takt µC, Größe ≤ 3");
  CHECK(printable("<script>") == "<script>");
  CHECK(printable("\U0001F552") == "\U0001F552");
}

TEST_CASE("printable: nothing can act on a terminal") {
  CHECK(printable("a\x1b[31mred") == "a\\x1B[31mred");
  CHECK(printable("line\r\nbreak\t") == "line\\x0D\\x0Abreak\\x09");
  CHECK(printable(std::string_view("nul\0nul", 7)) == "nul\\x00nul");
  CHECK(printable("\x7f") == "\\x7F");
  // U+009B is a control sequence introducer of one character.
  CHECK(printable("\xC2\x9B") == "\\xC2\\x9B");
  CHECK(printable("\u202Egpj.exe") == "\\xE2\\x80\\xAEgpj.exe");
  CHECK(printable("zero\u200Bwidth") == "zero\\xE2\\x80\\x8Bwidth");
}

TEST_CASE("printable: bytes that are not UTF-8 become visible") {
  CHECK(printable("\xFF\xFE") == "\\xFF\\xFE");
  CHECK(printable("cut \xC3") == "cut \\xC3");
  CHECK(printable("overlong \xC0\xAF") == "overlong \\xC0\\xAF");
  CHECK(printable("\xE0\x80\xAF") == "\\xE0\\x80\\xAF");
  CHECK(printable("surrogate \xED\xA0\x80") == "surrogate \\xED\\xA0\\x80");
  CHECK(printable("beyond \xF4\x90\x80\x80") == "beyond \\xF4\\x90\\x80\\x80");
}

TEST_CASE("valid_utf8: only bytes that are not UTF-8 change") {
  CHECK(valid_utf8("a\x1b\xFF") == "a\x1b\\xFF");
  CHECK(valid_utf8("\u202E") == "\u202E");
}

TEST_CASE("printable: twice is as once") {
  for (const char* text : {"a\x1b[0m", "\xFF\\xFF", "\u202E µ \\"}) {
    CHECK(printable(printable(text)) == printable(text));
  }
}

TEST_CASE(
    "printable_beginning: long text is cut between characters, and said") {
  CHECK(printable_beginning("clk", 3) == "clk");
  CHECK(printable_beginning("clk_out", 3) == "clk… (7 bytes)");
  CHECK(printable_beginning("aµµ", 4) == "aµ… (5 bytes)");
  CHECK(printable_beginning("a\x1b[2J", 2) == "a\\x1B… (5 bytes)");
  const std::string long_name(3'000'000, 'x');
  CHECK(printable_beginning(long_name, 2) == "xx… (3000000 bytes)");
}

TEST_CASE("lossless_utf8: every text comes back byte by byte") {
  CHECK(lossless_utf8("Gr\xF6\xDF"
                      "e") == "Gr\\xF6\\xDFe");  // Latin-1
  CHECK(lossless_utf8("Größe\x1b") == "Größe\x1b");
  CHECK(lossless_utf8("\\clk [0]") == "\\clk [0]");
  CHECK(lossless_utf8("\\xF6") == "\\x5CxF6");
  // Decoded as the header says, for all texts of three of these pieces.
  const std::string pieces[] = {"\xF6", "\\", "x", "F6", "\\xF6", "5C", "é"};
  const auto decoded = [](const std::string& text) {
    std::string out;
    for (std::size_t i = 0; i < text.size(); ++i) {
      const bool escape =
          text[i] == '\\' && i + 3 < text.size() && text[i + 1] == 'x' &&
          text.substr(i + 2, 2).find_first_not_of("0123456789ABCDEFabcdef") ==
              std::string::npos;
      out +=
          escape
              ? static_cast<char>(std::stoi(text.substr(i + 2, 2), nullptr, 16))
              : text[i];
      if (escape) i += 3;
    }
    return out;
  };
  for (const std::string& a : pieces) {
    for (const std::string& b : pieces) {
      for (const std::string& c : pieces) {
        CAPTURE(a + b + c);
        const std::string written = lossless_utf8(a + b + c);
        CHECK(written == valid_utf8(written));
        CHECK(decoded(written) == a + b + c);
      }
    }
  }
}
