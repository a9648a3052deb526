// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <span>

#include "clockassay/capture/importer.h"

namespace clockassay {

/// Every format there is, in the order in which content is tried.
std::span<const Importer> importers();

}  // namespace clockassay
