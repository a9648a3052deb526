// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <vector>

#include "clockassay/oscillator/requirements.h"

namespace clockassay {

/// What interfaces ask of a clock, for a person: at most 80 columns.
/// In: none of the rows null
std::string requirements_text(const std::vector<const Requirement*>& rows);

/// The same for a program: schema "clockassay/1", command "requirements".
std::string requirements_json(const std::vector<const Requirement*>& rows,
                              const std::string& tool_version);

}  // namespace clockassay
