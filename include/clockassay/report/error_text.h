// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>

#include "clockassay/base/result.h"

namespace clockassay {

/// Where an error is: "capture.csv:7", "capture.gz: byte 1234" where there is
/// no line, "standard input:7"; empty where it is nowhere. Printable.
std::string error_place(const Error& error);

/// The error for a person, printable: "clockassay: place: message", then the
/// hint on a line of its own.
std::string error_text(const Error& error);

}  // namespace clockassay
