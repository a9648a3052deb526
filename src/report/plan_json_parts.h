// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cmath>
#include <nlohmann/json.hpp>
#include <optional>
#include <string>

#include "clockassay/base/rational.h"
#include "clockassay/base/units.h"
#include "clockassay/plan/cautions.h"

// What the JSON of plans shares.
namespace clockassay {

using Json = nlohmann::ordered_json;

/// Where a figure could not be worked out it is not a number; unknown is null.
inline Json number(double value) {
  return std::isfinite(value) ? Json(value) : Json(nullptr);
}

template <class Kind>
Json number(const std::optional<Quantity<Kind>>& value) {
  return value ? number(value->value()) : Json(nullptr);
}

inline Json number(const std::optional<double>& value) {
  return value ? number(*value) : Json(nullptr);
}

inline Json number(const std::optional<Rational>& value) {
  return value ? number(value->to_double()) : Json(nullptr);
}

/// The result around a plan.
inline std::string whole_result(PlanKind kind, Json plan,
                                const std::string& tool_version) {
  plan["cautions"] = plan_cautions(kind);
  Json first = {{"kind", plan_kind_name(kind)}};
  first.update(plan);
  const Json tree = {{"schema", "clockassay/1"},
                     {"tool", {{"version", tool_version}}},
                     {"command", "plan"},
                     {"plan", first},
                     {"errors", Json::array()}};
  return tree.dump(2) + '\n';
}

}  // namespace clockassay
