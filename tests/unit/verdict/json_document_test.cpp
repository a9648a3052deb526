// SPDX-License-Identifier: GPL-3.0-or-later
#include "verdict/json_document.h"

#include <doctest/doctest.h>

#include <string>

namespace clockassay {
namespace {

std::string message_of(std::string_view text) {
  const Result<nlohmann::json> document = read_json_document(text);
  if (document) return "";
  CHECK(document.error().code == ErrorCode::kBadSpec);
  return document.error().message;
}

TEST_CASE("read_json_document: comments are allowed") {
  const Result<nlohmann::json> document =
      read_json_document("{ // a comment\n \"a\": 1 /* another */ }");
  REQUIRE(document);
  CHECK((*document)["a"] == 1);
}

TEST_CASE("read_json_document: a repeated key is named with its place") {
  CHECK(message_of(R"({"a": 1, "a": 2})") ==
        "the whole document: the key \"a\" stands twice");
  CHECK(message_of(R"({"c": [0, {"b": 1, "b": 1}]})") ==
        "/c/1: the key \"b\" stands twice");
  // The same key in two objects is no repetition.
  CHECK(message_of(R"([{"a": 1}, {"a": 1}])") == "");
}

TEST_CASE("read_json_document: nesting without end is refused") {
  CHECK(message_of(std::string(16, '[') + std::string(16, ']')) == "");
  CHECK(message_of(std::string(17, '[') + std::string(17, ']')) ==
        "/0/0/0/0/0/0/0/0/0/0/0/0/0/0/0: nested more than 16 deep");
  CHECK(message_of(std::string(100000, '[')).find("nested more than 16") !=
        std::string::npos);
}

TEST_CASE("read_json_document: numbers beyond a double are refused") {
  CHECK(message_of("[1e999]").starts_with("not valid JSON: "));
  CHECK(message_of("[NaN]").starts_with("not valid JSON: "));
  CHECK(message_of("[Infinity]").starts_with("not valid JSON: "));
}

TEST_CASE("read_json_document: a syntax error has line and byte") {
  const Result<nlohmann::json> document =
      read_json_document("{\n  \"a\": 1,\n  b\n}");
  REQUIRE_FALSE(document);
  CHECK(*document.error().line == 3);
  // "{\n" is 2 bytes, "  \"a\": 1,\n" 10, then two blanks: "b" is byte 14.
  CHECK(*document.error().byte == 14);
  CHECK(document.error().message.starts_with("not valid JSON: "));
}

TEST_CASE("read_json_document: empty, cut short or followed by more") {
  CHECK(message_of("").starts_with("not valid JSON: "));
  CHECK(message_of("{\"a\":").starts_with("not valid JSON: "));
  CHECK(message_of("{} {}").starts_with("not valid JSON: "));
  CHECK(message_of("\"\xFF\"").starts_with("not valid JSON: "));
}

TEST_CASE("deeper: escapes what a pointer cannot hold") {
  CHECK(deeper("/a", "b/c~d") == "/a/b~1c~0d");
  CHECK(deeper("", std::size_t{3}) == "/3");
}

}  // namespace
}  // namespace clockassay
