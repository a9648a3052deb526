// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

namespace clockassay {

/// That a length is seen `off` windows or more off, to one side: it is off by a
/// normal part of rms `sigma` windows, and between whole numbers of windows it
/// is seen as either, by how near it is. `off` counts from its mean to the
/// whole number seen.
/// In:     sigma > 0
/// Source: docs/plan.md#capture, *Jitter*
double chance_seen_off(double off, double sigma);

}  // namespace clockassay
