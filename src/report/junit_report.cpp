// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/report/junit_report.h"

#include <algorithm>
#include <string_view>

#include "clockassay/base/printable.h"
#include "clockassay/report/error_text.h"

namespace clockassay {
namespace {

// printable() leaves no control characters, which XML cannot hold.
std::string escaped(std::string_view text) {
  std::string out;
  for (const char c : printable(text)) {
    switch (c) {
      case '&':
        out += "&amp;";
        break;
      case '<':
        out += "&lt;";
        break;
      case '>':
        out += "&gt;";
        break;
      case '"':
        out += "&quot;";
        break;
      default:
        out += c;
    }
  }
  return out;
}

std::string joined(const std::vector<std::string>& sentences) {
  std::string out;
  for (const std::string& s : sentences) out += (out.empty() ? "" : " ") + s;
  return out;
}

std::string head(const Record& record, const std::string& name) {
  return "    <testcase classname=\"clockassay." + escaped(record.command) +
         "\" name=\"" + escaped(name) + '"';
}

std::string fault(const char* tag, const std::string& type,
                  const std::string& message, const std::string& body) {
  return std::string(">\n      <") + tag + " type=\"" + escaped(type) +
         "\" message=\"" + escaped(message) + "\">" + escaped(body) + "</" +
         tag + ">\n    </testcase>\n";
}

std::string verdict_case(const Record& record, const Verdict& v) {
  const std::string name = v.clock.empty() ? v.capture : v.clock;
  const std::string start = head(record, name + " in " + v.capture);
  if (v.decision == Decision::kPass) return start + "/>\n";
  return start + fault("failure", decision_name(v.decision), joined(v.reasons),
                       joined(v.advice));
}

std::string error_case(const Record& record, const Error& e) {
  const std::string place = error_place(e);
  return head(record, place.empty() ? "input" : place) +
         fault("error", error_code_name(e.code), e.message, e.hint);
}

std::string curve_case(const Record& record, const DriftResult& r) {
  const std::string name = r.board.empty() ? r.series : r.board;
  return head(record, name + " in " + r.series) + "/>\n";
}

}  // namespace

std::string junit_report(const Record& record) {
  std::string cases;
  std::size_t tests = record.verdicts.size() + record.errors.size();
  for (const Verdict& v : record.verdicts) cases += verdict_case(record, v);
  if (record.verdicts.empty()) {
    for (const DriftResult& r : record.drifts) {
      if (!r.assay) continue;
      cases += curve_case(record, r);
      ++tests;
    }
  }
  for (const Error& e : record.errors) cases += error_case(record, e);
  const auto failures = std::count_if(
      record.verdicts.begin(), record.verdicts.end(),
      [](const Verdict& v) { return v.decision != Decision::kPass; });
  const std::string counts = " tests=\"" + std::to_string(tests) +
                             "\" failures=\"" + std::to_string(failures) +
                             "\" errors=\"" +
                             std::to_string(record.errors.size()) + "\"";
  return "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<testsuites" + counts +
         ">\n  <testsuite name=\"clockassay " + escaped(record.command) + "\"" +
         counts + ">\n" + cases + "  </testsuite>\n</testsuites>\n";
}

}  // namespace clockassay
