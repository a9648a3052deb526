// SPDX-License-Identifier: GPL-3.0-or-later
#include "fuzz/check_reports.h"

#include "clockassay/report/report.h"
#include "fuzz/require.h"

namespace clockassay::test {
namespace {

std::string checked(const Result<std::string>& report) {
  if (!report) broken("no report: " + report.error().message);
  for (const char c : *report) {
    const auto byte = static_cast<unsigned char>(c);
    if ((byte < 0x20 && c != '\n') || byte == 0x7F) {
      broken("a report that cannot be printed: " + *report);
    }
  }
  return *report;
}

}  // namespace

std::string checked_reports(const Record& record) {
  return checked(text_report(record, {})) + checked(json_report(record));
}

}  // namespace clockassay::test
