// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <vector>

namespace clockassay {

enum class PlanKind { kLoad, kDrive, kPath, kCapture };

/// "load", "drive", "path", "capture".
const char* plan_kind_name(PlanKind kind);

/// What to mind with what a plan leads to, in sentences. Local rules and people
/// qualified for it come first.
std::vector<std::string> plan_cautions(PlanKind kind);

}  // namespace clockassay
