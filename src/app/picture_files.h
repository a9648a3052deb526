// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <functional>
#include <optional>
#include <string>
#include <string_view>
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
/// there, all or none, each by its id: allan-deviation.svg. Pictures that an
/// earlier run left there, by their name and their mark, and this record has
/// none of, are removed; all other files stay, renamed ones too.
/// Errors: as above; kCannotCreate where a file of such a name is not ours
Result<void> write_plots(const Record& record, const std::string& folder);

/// Those of ours that are in a folder, which write_plots() replaces or removes:
/// outputs, then, that may be no inputs.
std::vector<std::string> pictures_in(const std::string& folder);

/// Before a command begins: nothing in the folder would be overwritten that is
/// not ours. Errors: kCannotCreate, with the file
Result<void> check_pictures(const std::optional<std::string>& folder,
                            std::string_view command);

/// The same as write_plots() of charts at hand.
Result<void> write_charts(const std::vector<Chart>& charts,
                          const std::string& folder);

}  // namespace clockassay
