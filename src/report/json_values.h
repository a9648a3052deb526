// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <nlohmann/json.hpp>
#include <optional>
#include <string>

#include "clockassay/base/printable.h"
#include "clockassay/base/units.h"

// How single values stand in JSON: unknown is null.
namespace clockassay::json_values {

using Json = nlohmann::ordered_json;

/// A message.
inline Json text(const std::string& s) {
  return valid_utf8(s);
}

/// A name or path from outside, so that its bytes can be had back.
inline Json raw(const std::string& s) {
  return lossless_utf8(s);
}

inline Json text_or_null(const std::string& s) {
  return s.empty() ? Json(nullptr) : text(s);
}

inline Json raw_or_null(const std::string& s) {
  return s.empty() ? Json(nullptr) : raw(s);
}

inline Json number(const std::optional<double>& d) {
  return d ? Json(*d) : Json(nullptr);
}

inline Json number(const std::optional<std::int64_t>& n) {
  return n ? Json(*n) : Json(nullptr);
}

template <class Kind>
Json number(const std::optional<Quantity<Kind>>& q) {
  return q ? Json(q->value()) : Json(nullptr);
}

template <class List, class Function>
Json array_of(const List& list, Function function) {
  Json out = Json::array();
  for (const auto& element : list) out.push_back(function(element));
  return out;
}

}  // namespace clockassay::json_values
