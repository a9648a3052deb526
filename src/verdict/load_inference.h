// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "clockassay/verdict/load_inference.h"
#include "clockassay/verdict/specification.h"
#include "verdict/checks.h"

namespace clockassay {

/// The load a crystal sees, from how far its frequency is off.
/// Model:  with the crystal itself off by m within `make`, the load pulls it by
///         u = (1 + e)/(1 + m) - 1, and the load is the one that does so
/// In:     error usable (is_usable()), of the crystal whatever the path behind
/// Out:    fit and closest only for kDiffers with capacitors stated, and where
///         capacitors of E24 help
/// Source: docs/load.md#inference
LoadInference infer_load(const LoadSpec& load, Hertz source,
                         const ToleranceBand& make, const MeasuredError& error);

}  // namespace clockassay
