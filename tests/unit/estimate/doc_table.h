// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>

namespace clockassay::testing {

/// Compares with what stands in a page of docs/ between the lines
/// "<!-- name -->" and "<!-- end of name -->". To accept new tables, run the
/// test program once with CLOCKASSAY_UPDATE_GOLDEN=1 in the environment and
/// review the difference before committing it; that run fails on purpose.
void check_doc_table(const std::string& page, const std::string& name,
                     const std::string& table);

}  // namespace clockassay::testing
