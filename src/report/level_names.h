// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <vector>

#include "report/plot_window.h"

namespace clockassay {

/// Where the name of a level stands, in steps of the axes.
struct NamePlace {
  double x = 0.0;
  double y = 0.0;         ///< middle of the letters
  bool is_right = false;  ///< it ends at x, else it begins there
};

/// Beside its line, of four places where the least of the data is. Names of
/// upright levels are at the top, below each other where they would meet.
/// Out: one a level
std::vector<NamePlace> name_places(const PlotWindow& window);

}  // namespace clockassay
