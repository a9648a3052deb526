// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <array>

namespace clockassay {

/// A colour of still pictures, and what a page with colours of its own calls
/// it. Told apart by how light they are, too.
struct ChartColour {
  int red, green, blue;
  const char* name;
};

enum ColourAt { kPaper, kInk, kGrid, kFirst, kFirstPale, kSecond, kSecondPale };

inline constexpr std::array<ChartColour, 7> kChartColours = {
    {{255, 255, 255, "paper"},
     {26, 26, 30, "ink"},
     {214, 214, 208, "grid"},
     {16, 72, 112, "first"},
     {180, 203, 220, "first-pale"},
     {150, 72, 0, "second"},
     {244, 224, 196, "second-pale"}}};

}  // namespace clockassay
