// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>

namespace clockassay::testing {

/// Compares with tests/golden/<file>. To accept new reports, run the test
/// program once with CLOCKASSAY_UPDATE_GOLDEN=1 in the environment and review
/// the difference before committing it; that run fails on purpose.
void check_golden(const std::string& file, const std::string& text);

}  // namespace clockassay::testing
