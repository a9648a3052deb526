// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "clockassay/base/units.h"

namespace clockassay {

/// Resistance in ohms.
using Ohms = Quantity<struct OhmsKind>;
/// Transconductance in siemens.
using Siemens = Quantity<struct SiemensKind>;
/// Inductance in henries.
using Henries = Quantity<struct HenriesKind>;
/// Voltage in volts.
using Volts = Quantity<struct VoltsKind>;
/// Current in amperes.
using Amperes = Quantity<struct AmperesKind>;
/// Power in watts.
using Watts = Quantity<struct WattsKind>;

}  // namespace clockassay
