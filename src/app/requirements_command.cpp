// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/requirements_command.h"

#include <vector>

#include "app/console.h"
#include "app/delivery.h"
#include "clockassay/oscillator/requirements.h"
#include "clockassay/report/requirement_list.h"

namespace clockassay {
namespace {

Result<std::vector<const Requirement*>> rows_of(
    const std::vector<std::string>& ids) {
  std::vector<const Requirement*> rows;
  for (const std::string& id : ids) {
    const Requirement* row = find_requirement(id);
    if (row == nullptr) {
      const std::string_view near = nearest_requirement_id(id);
      return failure(ErrorCode::kUsage,
                     "found \"" + id + "\", which is no requirement's id",
                     near.empty() ? "without an id all are listed"
                                  : "did you mean " + std::string(near) + "?");
    }
    rows.push_back(row);
  }
  if (!ids.empty()) return rows;
  for (const Requirement& row : requirements()) rows.push_back(&row);
  return rows;
}

}  // namespace

Result<void> run_requirements(const RequirementsArguments& arguments,
                              const std::string& version) {
  const auto rows = rows_of(arguments.ids);
  if (!rows) return tl::unexpected(rows.error());
  if (arguments.json) {
    const auto done =
        write_output(*arguments.json, requirements_json(*rows, version));
    if (!done || *arguments.json == "-") return done;
  }
  return print(requirements_text(*rows));
}

}  // namespace clockassay
