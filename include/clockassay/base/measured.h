// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

namespace clockassay {

/// A value and its standard uncertainty (k = 1), both in the unit of T.
template <class T>
struct Measured {
  T value;
  T standard_uncertainty;
};

}  // namespace clockassay
