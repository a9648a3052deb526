// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>

#include "clockassay/analysis/record.h"

namespace clockassay::test {

/// The record as text and as JSON, one behind the other. Ends the fuzzer where
/// either cannot be written or holds control bytes.
std::string checked_reports(const Record& record);

}  // namespace clockassay::test
