// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>

#include "clockassay/base/number_text.h"

// Numbers as sentences have them. Independent of the locale.
namespace clockassay {

/// A ppm value rounded where its uncertainty `u_ppm` has two digits: "61.2".
/// An unusable uncertainty leaves six significant digits.
std::string ppm_text(double ppm, double u_ppm);

/// "8.00016 MHz", nine significant digits.
std::string hertz_text(double hertz);

/// "±30 ppm" or "-5300 … +300 ppm".
std::string band_text(double low_ppm, double high_ppm);

/// What to mind before a part is changed, in a sentence.
std::string soldering_caution();

/// "95 %".
std::string coverage_text(double coverage);

/// The size of an offset: "61.2 ppm", from a per cent on "33.332 %".
std::string offset_text(double ppm, double u_ppm);

/// "61.2 ppm fast", "33.332 % slow", "0.0 ppm off".
std::string fast_or_slow(double ppm, double u_ppm);

/// "61.2 ppm above", "33.332 % below", "0.0 ppm off".
std::string above_or_below(double ppm, double u_ppm);

}  // namespace clockassay
