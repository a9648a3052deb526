// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/html_page.h"

#include "clockassay/base/printable.h"
#include "report/html_parts.h"
#include "report/page_parts.h"
#include "report/xml_text.h"

namespace clockassay {
namespace {

/// For where no node writes it.
std::string escaped(const std::string& text) {
  std::string safe;
  for (const char c : printable(text)) {
    if (c == '<') {
      safe += "&lt;";
    } else if (c == '&') {
      safe += "&amp;";
    } else if (c == '"') {
      safe += "&quot;";
    } else {
      safe += c;
    }
  }
  return safe;
}

}  // namespace

std::string page_text(const PageHead& head, const pugi::xml_document& body,
                      const std::vector<Chart>& charts) {
  return "<!doctype html>\n<html lang=\"en\">\n<head>\n"
         "<meta charset=\"utf-8\">\n"
         "<meta name=\"viewport\" content=\"width=device-width\">\n"
         "<meta name=\"generator\" content=\"clockassay " +
         escaped(head.tool_version) + "\">\n<title>" + escaped(head.title) +
         "</title>\n<style>\n" + kChartStyle + kPageStyle +
         "</style>\n</head>\n<body>\n" +
         xml_text(body, pugi::format_no_empty_element_tags) +
         "\n<script type=\"application/json\" id=\"charts\">" +
         chart_data(charts) + "</script>\n<script>\n/*\n" + kChartLicense +
         "*/\n" + kChartScript + "\n" + kPageScript +
         "</script>\n</body>\n</html>\n";
}

}  // namespace clockassay
