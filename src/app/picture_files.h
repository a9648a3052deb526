// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <functional>
#include <string>
#include <vector>

#include "clockassay/analysis/record.h"
#include "clockassay/base/result.h"
#include "clockassay/report/chart.h"

namespace clockassay {

/// Makes a page.
using PageMaker = std::function<Result<std::string>()>;

/// Writes a page that is made by made_apart(), whole or not at all.
/// Errors: as `make`; kCannotCreate, kWriteFailed
Result<void> write_page(const PageMaker& make, const std::string& path);

/// The same of the record's page.
Result<void> write_report(const Record& record, const std::string& path);

/// Writes the record's charts into a folder, which is made where it is not
/// there, all or none, each by its id: allan-deviation.svg. Pictures of such
/// names that this record has none of are removed; all other files stay.
/// Errors: as above
Result<void> write_plots(const Record& record, const std::string& folder);

/// Those of such names that are in a folder, which write_plots() replaces or
/// removes: outputs, then, that may be no inputs.
std::vector<std::string> pictures_in(const std::string& folder);

/// The same as write_plots() of charts at hand.
Result<void> write_charts(const std::vector<Chart>& charts,
                          const std::string& folder);

}  // namespace clockassay
