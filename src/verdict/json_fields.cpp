// SPDX-License-Identifier: GPL-3.0-or-later
#include "verdict/json_fields.h"

#include <algorithm>
#include <utility>

#include "clockassay/base/nearest_name.h"
#include "verdict/json_document.h"

namespace clockassay {

using nlohmann::json;

tl::unexpected<Error> refuse(const std::string& pointer, const std::string& why,
                             std::string hint) {
  return failure(ErrorCode::kBadSpec, place(pointer) + ": " + why,
                 std::move(hint));
}

tl::unexpected<Error> refuse(const std::string& pointer, const Error& error) {
  return refuse(pointer, error.message, error.hint);
}

std::string found(const json& value) {
  switch (value.type()) {
    case json::value_t::object:
      return "found an object";
    case json::value_t::array:
      return "found a list";
    case json::value_t::string:
      return "found text";
    case json::value_t::boolean:
      return value.get<bool>() ? "found true" : "found false";
    case json::value_t::null:
      return "found null";
    default:
      return "found the number " + value.dump();
  }
}

Failure check_object(const json& value, const std::string& pointer,
                     std::span<const std::string_view> known) {
  if (!value.is_object()) {
    return refuse(pointer, found(value) + ", expected an object");
  }
  for (const auto& [key, unused] : value.items()) {
    if (std::find(known.begin(), known.end(), key) != known.end()) continue;
    const std::string_view nearest = nearest_name(key, known);
    return refuse(
        deeper(pointer, key), "unknown key, allowed are " + joined_names(known),
        nearest.empty() ? ""
                        : "did you mean \"" + std::string(nearest) + "\"?");
  }
  return std::nullopt;
}

Result<std::string> read_text(const json& value, const std::string& pointer,
                              const std::string& example) {
  if (!value.is_string()) {
    return refuse(pointer, found(value) + ", expected text",
                  "for example \"" + example + "\"");
  }
  auto text = value.get<std::string>();
  if (text.empty()) {
    return refuse(pointer,
                  "found empty text, expected for example \"" + example + "\"");
  }
  return text;
}

Result<std::string> need_text(const json& object, const std::string& pointer,
                              const std::string& key,
                              const std::string& example) {
  const auto member = object.find(key);
  if (member == object.end()) {
    return refuse(pointer, "the key \"" + key + "\" is missing",
                  "for example \"" + key + "\": \"" + example + "\"");
  }
  return read_text(*member, deeper(pointer, key), example);
}

Result<std::string> read_quantity(const json& value, const std::string& pointer,
                                  const std::string& example) {
  // The shortest decimal that reads back the same: as it was written.
  if (value.is_number()) return value.dump();
  return read_text(value, pointer, example);
}

Result<std::string> need_quantity(const json& object,
                                  const std::string& pointer,
                                  const std::string& key,
                                  const std::string& example) {
  const auto member = object.find(key);
  if (member == object.end() || !member->is_number()) {
    return need_text(object, pointer, key, example);
  }
  return member->dump();
}

bool is_bare(std::string_view quantity) {
  return quantity.find_first_not_of("0123456789.eE+- \t") ==
         std::string_view::npos;
}

}  // namespace clockassay
