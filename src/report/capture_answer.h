// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>

#include "clockassay/plan/capture_plan.h"
#include "report/text_layout.h"

// Words that the parts of a plan of a capture share.
namespace clockassay {

std::string ppm_words(double value);
std::string within_ppm(const Ppm& value);
std::string seconds_words(const Seconds& value);
std::string per_cent(double fraction);
std::string frequency_words(double hertz);
std::string limits_of(const CapturePlan& plan);
/// "(95 %)"
std::string coverage_text(const CapturePlan& plan);
/// What is assumed or stated of the duty.
std::string duty_text(const CapturePlan& plan);
/// Beyond a day in days.
std::string length_words(const Seconds& time);

/// Whether the capture decides, and what passes and fails.
void say_capture_answer(const CapturePlan& plan, TextLayout& out);
void say_capture_zones(const CapturePlan& plan, TextLayout& out);

/// Whether one that the rate shows would do; not where an alias is there too.
bool reference_may_be_slower(const CapturePlan& plan);

}  // namespace clockassay
