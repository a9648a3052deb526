// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <vector>

#include "clockassay/base/result.h"
#include "clockassay/report/chart.h"

namespace clockassay {

/// Each chart as a picture (SVG), drawn by a process of its own: the plotting
/// library ends its process, by whatever code, where memory or a part of its
/// own is missing, and that must not be the answer to another question. Errors:
/// as svg_chart(); kCannotCreate where drawing ended early
Result<std::vector<std::string>> draw_apart(const std::vector<Chart>& charts);

}  // namespace clockassay
