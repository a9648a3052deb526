// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/report/junit_report.h"

#include <doctest/doctest.h>

#include <string>

namespace clockassay {
namespace {

Record batch() {
  Record record;
  record.command = "verify";
  for (const char* path : {"a<1>.vcd", "b.vcd"}) {
    record.captures.emplace_back();
    record.captures.back().path = path;
    for (const Decision d : {Decision::kPass, Decision::kUndecided}) {
      record.verdicts.emplace_back();
      record.verdicts.back().capture = path;
      record.verdicts.back().clock = "main & only";
      record.verdicts.back().decision = d;
      record.verdicts.back().reasons = {"first.", "second."};
    }
  }
  record.captures.back().tags = {{"board", "\"7\""}};
  Error error{ErrorCode::kBadData, "a \x1b[31mtrap", "no way"};
  error.path = "c.vcd";
  record.errors.push_back(error);
  return record;
}

bool has(const std::string& text, const char* part) {
  return text.find(part) != std::string::npos;
}

}  // namespace

TEST_CASE("junit_report: a suite a capture, with its counts and tags") {
  const std::string xml = junit_report(batch());
  CHECK(has(xml,
            "<testsuites tests=\"5\" failures=\"2\" errors=\"1\" "
            "skipped=\"0\">"));
  CHECK(has(xml,
            "<testsuite name=\"b.vcd\" tests=\"2\" failures=\"1\" "
            "errors=\"0\" skipped=\"0\">"));
  CHECK(has(xml, "<property name=\"board\" value=\"&quot;7&quot;\"/>"));
  CHECK(has(xml, "<failure type=\"undecided\" message=\"first. second.\">"));
  CHECK(has(xml,
            "<testsuite name=\"c.vcd\" tests=\"1\" failures=\"0\" "
            "errors=\"1\""));
}

TEST_CASE("junit_report: undecided is skipped where it is allowed") {
  const std::string xml = junit_report(batch(), {true});
  CHECK(has(xml,
            "<testsuites tests=\"5\" failures=\"0\" errors=\"1\" "
            "skipped=\"2\">"));
  CHECK(has(xml, "<skipped message=\"first. second.\"/>"));
  CHECK_FALSE(has(xml, "<failure"));
}

TEST_CASE("junit_report: names do nothing to the document") {
  const std::string xml = junit_report(batch());
  CHECK(has(xml, "name=\"a&lt;1&gt;.vcd\""));
  CHECK(has(xml, "main &amp; only in a&lt;1&gt;.vcd"));
  CHECK(xml.find('\x1b') == std::string::npos);
}

}  // namespace clockassay
