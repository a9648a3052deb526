// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/report/junit_report.h"

#include <cstddef>
#include <map>
#include <string_view>
#include <utility>
#include <vector>

#include "clockassay/base/number_text.h"
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

std::string name_of(const Verdict& v) {
  return v.clock.empty() ? v.capture : v.clock;
}

std::string skipped(const std::string& message) {
  return ">\n      <skipped message=\"" + escaped(message) +
         "\"/>\n    </testcase>\n";
}

std::string error_case(const Record& record, const Error& e) {
  const std::string place = error_place(e);
  return head(record, place.empty() ? "input" : place) +
         fault("error", error_code_name(e.code), e.message, e.hint);
}

std::string shift_message(const ClockShift& s) {
  if (s.presence != Presence::kInBoth) return "the clock is gone";
  return "moved by " + number_text(s.shift.value(), 4) +
         " ppm, U = " + number_text(s.expanded.value(), 3) + " ppm";
}

/// Cases of one capture or series, and how they came out.
class Suite {
 public:
  Suite(const Record& record, const JunitOptions& options, std::string name)
      : record_(record), options_(options), name_(std::move(name)) {}

  void add_tags(const std::vector<Tag>& tags) {
    for (const Tag& tag : tags) {
      properties_ += "      <property name=\"" + escaped(tag.key) +
                     "\" value=\"" + escaped(tag.value) + "\"/>\n";
    }
  }

  void add(const Verdict& v) {
    ++counts_.tests;
    const std::string start = head(record_, name_of(v) + " in " + v.capture);
    if (v.decision == Decision::kPass) {
      cases_ += start + "/>\n";
      return;
    }
    const bool is_skipped =
        v.decision == Decision::kUndecided && options_.allow_undecided;
    ++(is_skipped ? counts_.skipped : counts_.failures);
    cases_ += start + (is_skipped ? skipped(joined(v.reasons))
                                  : fault("failure", decision_name(v.decision),
                                          joined(v.reasons), joined(v.advice)));
  }

  void add(const DriftResult& curve) {
    ++counts_.tests;
    ++counts_.skipped;
    const std::string name = curve.board.empty() ? curve.series : curve.board;
    cases_ += head(record_, name + " in " + curve.series) +
              skipped("no --tolerance: a curve, and nothing to judge it by");
  }

  void add(const ClockShift& shift) {
    ++counts_.tests;
    const std::string start = head(record_, shift.channel);
    if (!shift.decision || *shift.decision == Decision::kPass) {
      cases_ += start + "/>\n";
      return;
    }
    ++counts_.failures;
    cases_ += start + fault("failure", decision_name(*shift.decision),
                            shift_message(shift), "");
  }

  void add(const Error& error) {
    ++counts_.tests;
    ++counts_.errors;
    cases_ += error_case(record_, error);
  }

  struct Counts {
    std::size_t tests = 0, failures = 0, errors = 0, skipped = 0;

    std::string text() const {
      return " tests=\"" + std::to_string(tests) + "\" failures=\"" +
             std::to_string(failures) + "\" errors=\"" +
             std::to_string(errors) + "\" skipped=\"" +
             std::to_string(skipped) + "\"";
    }

    void add(const Counts& other) {
      tests += other.tests;
      failures += other.failures;
      errors += other.errors;
      skipped += other.skipped;
    }
  };

  const Counts& counts() const { return counts_; }

  std::string text() const {
    const std::string properties =
        properties_.empty()
            ? ""
            : "    <properties>\n" + properties_ + "    </properties>\n";
    return "  <testsuite name=\"" + escaped(name_) + "\"" + counts_.text() +
           ">\n" + properties + cases_ + "  </testsuite>\n";
  }

 private:
  const Record& record_;
  const JunitOptions& options_;
  std::string name_;
  std::string properties_;
  std::string cases_;
  Counts counts_;
};

/// In the order in which they come up.
class Suites {
 public:
  Suites(const Record& record, const JunitOptions& options)
      : record_(record), options_(options) {}

  Suite& of(const std::string& name) {
    const std::string title =
        name.empty() ? "clockassay " + record_.command : name;
    const auto [at, is_new] = places_.try_emplace(title, suites_.size());
    if (is_new) suites_.emplace_back(record_, options_, title);
    return suites_[at->second];
  }

  std::string text() const {
    Suite::Counts all;
    std::string suites;
    for (const Suite& suite : suites_) {
      all.add(suite.counts());
      suites += suite.text();
    }
    return "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<testsuites" +
           all.text() + ">\n" + suites + "</testsuites>\n";
  }

 private:
  const Record& record_;
  const JunitOptions& options_;
  std::vector<Suite> suites_;
  std::map<std::string, std::size_t> places_;  // by name
};

}  // namespace

std::string junit_report(const Record& record, const JunitOptions& options) {
  Suites suites(record, options);
  for (const CaptureResult& c : record.captures) {
    if (record.command == "verify") suites.of(c.path).add_tags(c.tags);
  }
  for (const Verdict& v : record.verdicts) suites.of(v.capture).add(v);
  if (record.verdicts.empty()) {
    for (const DriftResult& r : record.drifts) {
      if (r.assay) suites.of(r.series).add(r);
    }
  }
  if (record.comparison) {
    for (const ClockShift& s : record.comparison->shifts) {
      suites.of(record.comparison->after).add(s);
    }
  }
  for (const Error& e : record.errors) suites.of(e.path).add(e);
  return suites.text();
}

}  // namespace clockassay
