// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/page_words.h"

#include <algorithm>
#include <cstddef>
#include <iterator>

namespace clockassay {
namespace {

constexpr std::string_view kMinus = "\u2212";
constexpr std::string_view kFixedBlank = "\u00A0";
constexpr std::string_view kTyped = "degC";

bool is_digit(char c) {
  return c >= '0' && c <= '9';
}

bool is_letter(char c) {
  return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
}

/// Where a figure ends that begins there: digits, blanks in between, a point.
std::size_t end_of_figure(std::string_view text, std::size_t at) {
  while (at < text.size()) {
    const bool is_more = at + 1 < text.size() && is_digit(text[at + 1]);
    if (!is_digit(text[at]) &&
        !((text[at] == '.' || text[at] == ' ') && is_more))
      break;
    ++at;
  }
  return at;
}

/// What follows a blank there is a unit.
bool is_unit_at(std::string_view text, std::size_t at) {
  constexpr std::string_view kUnits[] = {
      "ppm",     "ppb", "%",   "GHz", "MHz", "kHz",  "Hz",      "ms",
      "\u00B5s", "ns",  "ps",  "fs",  "s",   "degC", "\u00B0C", "K",
      "pF",      "fF",  "dBc", "dB",  "V",   "mV",   "MS/s",    "kS/s"};
  const std::string_view rest = text.substr(at);
  return std::any_of(
      std::begin(kUnits), std::end(kUnits), [rest](std::string_view unit) {
        return rest.starts_with(unit) &&
               (rest.size() == unit.size() ||
                (!is_letter(rest[unit.size()]) &&
                 !is_digit(rest[unit.size()]) &&
                 static_cast<unsigned char>(rest[unit.size()]) < 0x80) ||
                rest.substr(unit.size()).starts_with("\u00B2") ||
                rest.substr(unit.size()).starts_with("\u00B3"));
      });
}

/// A hyphen there is the minus of a figure of which the text tells.
bool is_minus_at(std::string_view text, std::size_t at, bool is_aligned) {
  if (text[at] != '-' || at + 1 >= text.size() || !is_digit(text[at + 1])) {
    return false;
  }
  const bool begins = at == 0 || text[at - 1] == ' ' || text[at - 1] == '(';
  if (!begins) return false;
  const std::size_t end = end_of_figure(text, at + 1);
  const bool has_point = text.substr(at, end - at).find('.') != text.npos;
  if (end == text.size()) return at == 0 || has_point;
  if (text[end] != ' ') {
    return has_point && std::string_view(",;)").find(text[end]) != text.npos;
  }
  if (is_aligned) return true;  // a cell of a row
  const std::string_view rest = text.substr(end + 1);
  return is_unit_at(text, end + 1) || rest.starts_with("\u2026") ||
         rest.starts_with("to ") || rest.starts_with("\u00B1");
}

bool is_degrees_at(std::string_view text, std::size_t at) {
  if (!text.substr(at).starts_with(kTyped)) return false;
  const std::size_t end = at + kTyped.size();
  return (at == 0 || text[at - 1] == ' ') &&
         (end == text.size() ||
          (!is_letter(text[end]) && !is_digit(text[end])));
}

/// A blank within a figure, or between it and its unit.
bool is_of_figure(std::string_view text, std::size_t at) {
  return text[at] == ' ' && at > 0 && is_digit(text[at - 1]) &&
         ((at + 1 < text.size() && is_digit(text[at + 1])) ||
          is_unit_at(text, at + 1));
}

std::string converted(std::string_view text, bool is_aligned, LineEnds ends) {
  std::string out;
  for (std::size_t at = 0; at < text.size();) {
    if (is_minus_at(text, at, is_aligned)) {
      out += kMinus;
      ++at;
    } else if (is_degrees_at(text, at)) {
      if (is_aligned) out += "  ";
      out += "\u00B0C";
      at += kTyped.size();
    } else if (ends == LineEnds::kNotInFigures && is_of_figure(text, at)) {
      out += kFixedBlank;
      ++at;
    } else {
      out += text[at++];
    }
  }
  return out;
}

}  // namespace

std::string page_words(std::string_view text, LineEnds ends) {
  return converted(text, false, ends);
}

std::string page_lines(std::string_view text) {
  return converted(text, true, LineEnds::kAnywhere);
}

std::string with_minus(std::string figure) {
  if (figure.size() < 2 || figure[0] != '-' || !is_digit(figure[1])) {
    return figure;
  }
  return std::string(kMinus) + figure.substr(1);
}

}  // namespace clockassay
