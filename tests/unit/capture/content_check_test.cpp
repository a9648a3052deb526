// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/content_check.h"

#include <doctest/doctest.h>

#include <string>

namespace clockassay {
namespace {

using namespace std::string_literals;

std::string message(const std::string& content) {
  const auto error = refuse_content(content, true);
  if (!error) return "";
  CHECK(error->code == ErrorCode::kBadData);
  CHECK(error->byte);
  CHECK_FALSE(error->hint.empty());
  return error->message;
}

TEST_CASE("refuse_content: what is no text is called by its name") {
  CHECK(message("") == "found an empty file, expected a capture");
  CHECK(message(" \r\n\t\n") == "found nothing but blanks, expected a capture");
  CHECK(message("\x1F\x8B\x08\x00 abc"s) ==
        "found data compressed with gzip, expected text (VCD or CSV)");
  CHECK(message("\x28\xB5\x2F\xFD abc"s) ==
        "found data compressed with Zstandard, expected text (VCD or CSV)");
  CHECK(message("\xFD"
                "7zXZ\0 abc"s) ==
        "found data compressed with xz, expected text (VCD or CSV)");
  CHECK(message("\xFF\xFE$\0d\0a\0"s) ==
        "found UTF-16 text, expected ASCII or UTF-8");
  CHECK(message("\xFE\xFF\0$\0d\0a"s) ==
        "found UTF-16 text, expected ASCII or UTF-8");
  CHECK(message("$\0d\0a\0t\0e\0"s) ==
        "found UTF-16 text, expected ASCII or UTF-8");
  CHECK(message("\n<!DOCTYPE html><html>") ==
        "found a web page or XML, expected a capture as text");
  CHECK(message("<HTML>") ==
        "found a web page or XML, expected a capture as text");
  CHECK(message("$date\0\1\2"s) ==
        "found binary data (a NUL byte), expected text (VCD or CSV)");
}

TEST_CASE("refuse_content: a NUL is named by its byte") {
  CHECK(refuse_content("$date\0"s, true)->byte == 5);
}

TEST_CASE("refuse_content: text passes, with a byte order mark too") {
  CHECK_FALSE(refuse_content("$date today $end", true));
  CHECK_FALSE(refuse_content("\xEF\xBB\xBFtime_s,clk\n", true));
  CHECK_FALSE(refuse_content("time_s,\xB5V\n", true));
  CHECK(without_byte_order_mark("\xEF\xBB\xBF$date") == "$date");
  CHECK(without_byte_order_mark("$date") == "$date");
}

}  // namespace
}  // namespace clockassay
