// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <vector>

#include "clockassay/base/warning.h"
#include "report/json_values.h"

namespace clockassay::json_values {

/// A list of messages.
inline Json texts(const std::vector<std::string>& list) {
  Json out = Json::array();
  for (const std::string& s : list) out.push_back(text(s));
  return out;
}

inline Json warnings_json(const std::vector<Warning>& warnings) {
  return array_of(warnings, [](const Warning& w) {
    const WarningInfo& info = warning_info(w.code);
    return Json{{"code", info.name},
                {"message", text(w.message)},
                {"forbids_pass", info.forbids_pass},
                {"forbids_fail", info.forbids_fail}};
  });
}

}  // namespace clockassay::json_values
