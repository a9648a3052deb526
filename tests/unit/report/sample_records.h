// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "clockassay/analysis/record.h"

namespace clockassay::testing {

/// Records made by hand, one a kind of outcome. The numbers fit together as in
/// a real one but were not computed.
Record passing_record();     ///< 12 MHz within limits, stated timebase
Record failing_record();     ///< the former 16 MHz crystal still in effect
Record wrong_load_record();  ///< 60 ppm fast, the load worked out
Record undecided_record();   ///< timebase assumed
Record measured_record();
/// --stability, of ten million cycles: points from the sampling's to the
/// clock's.
Record stability_record();
/// --stability without its table: what each kind of character says.
Record character_record();
Record spectrum_record();  ///< --spectrum: two spurs, an image, a spread
/// --explain of a compressed capture, and of one that was refused.
Record explained_record();  ///< two channels, one repaired and limited

}  // namespace clockassay::testing
