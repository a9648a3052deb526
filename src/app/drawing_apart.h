// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <functional>
#include <string>
#include <vector>

#include "clockassay/base/result.h"
#include "clockassay/report/chart.h"

namespace clockassay {

/// What makes texts with the plotting library.
using TextMaker = std::function<Result<std::vector<std::string>>()>;

/// The same, made by a process of its own: the plotting library ends its
/// process, by whatever code, where memory or a part of its own is missing, and
/// that must not be the answer to another question. Errors: as `make`;
/// kCannotCreate where its process ended early, memory included
Result<std::vector<std::string>> made_apart(const TextMaker& make);

/// Each chart as a picture (SVG), made so.
Result<std::vector<std::string>> draw_apart(const std::vector<Chart>& charts);

}  // namespace clockassay
