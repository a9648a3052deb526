// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <string>

#include "clockassay/plan/cautions.h"
#include "clockassay/plan/drive_plan.h"
#include "clockassay/plan/load_plan.h"
#include "report/text_layout.h"

// What the texts of plans share.
namespace clockassay {

/// All that a plan of load says.
void say_plan(const LoadPlan& plan, TextLayout& out);

void say_cautions(PlanKind kind, TextLayout& out);

/// A frequency of a path: as written where that is short, else to a tenth of a
/// ppm.
std::string path_hertz(double value);

/// In ppm, beyond a per cent in per cent.
std::string path_difference(double ppm);

/// Whose gain a margin is of.
const char* board_gain_words(BoardGainOf of);

/// Where no crystal is like that, "; C0/C1 of 30 is …"; else empty.
std::string odd_ratio_words(std::optional<Farads> c0, std::optional<Farads> c1);

/// "two of 30 pF", "27 pF and 33 pF", "none".
std::string capacitors(const CapacitorPair& pair);
std::string farads(Farads value);

}  // namespace clockassay
