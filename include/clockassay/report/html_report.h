// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>

#include "clockassay/analysis/record.h"
#include "clockassay/base/result.h"

namespace clockassay {

/// The record as one page for people: verdicts first, then why, what to do and
/// what it stands on; charts with their numbers. One file without anything from
/// elsewhere: it asks for no network, and its text is all there without its
/// script. Nothing from a capture becomes markup.
/// Errors: kInternal when a number is not finite; as svg_chart()
/// Source: docs/report.md
Result<std::string> html_report(const Record& record);

/// Takes the pictures out of a growing record that its page has no place for,
/// which no more captures bring back: the page stays the same.
/// Cost: as of its verdicts and captures
void drop_unshown_pictures(Record& record);

}  // namespace clockassay
