// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <exception>
#include <string>

#include "clockassay/base/result.h"

namespace clockassay {

/// What an exception that came out of the library means: that memory ran out,
/// which is the machine's (kNoMemory), or a bug of ours (kInternal).
/// In: path  what it came of; empty where that is not known
Error error_of(const std::exception& e, const std::string& path);

}  // namespace clockassay
