// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/report/error_text.h"

#include "clockassay/base/printable.h"

namespace clockassay {
namespace {

// Of one message [bytes]. Chosen: a dozen lines of a terminal.
constexpr std::size_t kMostShown = 1000;

}  // namespace

std::string error_place(const Error& error) {
  if (error.path.empty()) return {};
  std::string text =
      error.path == "-" ? "standard input" : printable(error.path);
  if (error.line) return text + ':' + std::to_string(*error.line);
  if (error.byte) text += ": byte " + std::to_string(*error.byte);
  return text;
}

std::string error_text(const Error& error) {
  const std::string place = error_place(error);
  std::string text = "clockassay: " + place + (place.empty() ? "" : ": ");
  text += printable_beginning(error.message, kMostShown) + '\n';
  if (error.hint.empty()) return text;
  return text + "  " + printable_beginning(error.hint, kMostShown) + '\n';
}

}  // namespace clockassay
