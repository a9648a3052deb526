// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/manual/roff.h"

#include <cassert>

namespace clockassay {
namespace {

// What roff reads otherwise than it stands: groff_char(7).
std::string_view escape_of(char c) {
  switch (c) {
    case '\\':
      return "\\(rs";
    case '-':
      return "\\-";
    case '\'':
      return "\\(aq";
    case '"':
      return "\\(dq";
    case '^':
      return "\\(ha";
    case '~':
      return "\\(ti";
    case '`':
      return "\\(ga";
    default:
      return {};
  }
}

}  // namespace

std::string roff_text(std::string_view text) {
  std::string out;
  bool line_begins = true;
  for (const char c : text) {
    // The table of options and the help texts are in ASCII.
    assert(static_cast<unsigned char>(c) < 0x80);
    if (line_begins && c == '.') out += "\\&";
    const std::string_view escape = escape_of(c);
    out += escape.empty() ? std::string_view(&c, 1) : escape;
    line_begins = c == '\n';
  }
  return out;
}

std::string roff_bold(std::string_view text) {
  return "\\fB" + roff_text(text) + "\\fR";
}

std::string roff_italic(std::string_view text) {
  return "\\fI" + roff_text(text) + "\\fR";
}

std::string roff_heading(std::string_view macro, std::string_view text) {
  return '.' + std::string(macro) + ' ' + std::string(text) + '\n';
}

std::string roff_entry(const std::string& term, const std::string& text) {
  return ".TP\n" + term + '\n' + text + '\n';
}

}  // namespace clockassay
