// SPDX-License-Identifier: GPL-3.0-or-later
#include "verdict/requirement_parameters.h"

#include <algorithm>
#include <limits>
#include <utility>
#include <vector>

#include "clockassay/base/decimal.h"
#include "clockassay/base/nearest_name.h"

namespace clockassay {
namespace {

bool is_among(std::span<const std::string_view> names, std::string_view name) {
  return std::find(names.begin(), names.end(), name) != names.end();
}

std::string example_of(const ParameterNames& names) {
  return "for example " + std::string(names.example);
}

tl::unexpected<Error> refuse_unknown(const ParameterNames& names,
                                     const std::string& name) {
  std::vector<std::string_view> all(names.needed.begin(), names.needed.end());
  all.insert(all.end(), names.optional.begin(), names.optional.end());
  if (all.empty()) {
    return refuse_requirement(
        names.id, "unknown parameter \"" + name + "\", it takes none");
  }
  const std::string_view nearest = nearest_name(name, all);
  return refuse_requirement(
      names.id,
      "unknown parameter \"" + name + "\", allowed are " + joined_names(all),
      nearest.empty() ? example_of(names)
                      : "did you mean \"" + std::string(nearest) + "\"?");
}

}  // namespace

tl::unexpected<Error> refuse_requirement(std::string_view id,
                                         const std::string& why,
                                         std::string hint) {
  return failure(ErrorCode::kUsage,
                 "requirement \"" + std::string(id) + "\": " + why,
                 std::move(hint));
}

Result<ParameterReader> ParameterReader::open(
    const ParameterNames& names, const RequirementParameters& parameters) {
  for (const auto& [name, value] : parameters) {
    if (is_among(names.needed, name) || is_among(names.optional, name)) {
      continue;
    }
    return refuse_unknown(names, name);
  }
  for (const std::string_view name : names.needed) {
    if (parameters.contains(std::string(name))) continue;
    return refuse_requirement(names.id,
                              "parameter \"" + std::string(name) +
                                  "\" is missing, expected " +
                                  joined_names(names.needed),
                              example_of(names));
  }
  return ParameterReader(names, parameters);
}

bool ParameterReader::has(std::string_view name) const {
  return parameters_.contains(std::string(name));
}

const std::string& ParameterReader::text(std::string_view name) const {
  return parameters_.at(std::string(name));
}

tl::unexpected<Error> ParameterReader::refuse(std::string_view name,
                                              const Error& error) const {
  return refuse_requirement(
      names_.id, "parameter \"" + std::string(name) + "\": " + error.message,
      error.hint);
}

Result<Rational> ParameterReader::number(std::string_view name) const {
  const std::optional<Decimal> value = parse_decimal(text(name));
  if (value) return value->value;
  return refuse_requirement(names_.id,
                            "parameter \"" + std::string(name) +
                                "\": found \"" + text(name) +
                                "\", expected a number without a unit",
                            example_of(names_));
}

Result<std::vector<Rational>> ParameterReader::numbers_or_times(
    std::span<const std::string_view> names) const {
  const auto is_bare = [this](std::string_view name) {
    return parse_decimal(text(name)).has_value();
  };
  const bool any_bare = std::any_of(names.begin(), names.end(), is_bare);
  std::vector<Rational> values;
  for (const std::string_view name : names) {
    const Result<Rational> value = parse_time(text(name));
    const bool is_odd = any_bare && !is_bare(name);
    if (is_odd || (!value && !is_bare(name))) {
      const std::string all = joined_names(names);
      return refuse_requirement(
          names_.id,
          "parameter \"" + std::string(name) + "\": found \"" + text(name) +
              "\"" + (value ? " beside numbers without a unit" : "") +
              ", expected " + all +
              " all as numbers of time quanta or all as times",
          example_of(names_));
    }
    const Result<Rational> one = any_bare ? number(name) : value;
    if (!one) return tl::unexpected<Error>(one.error());
    values.push_back(*one);
  }
  return values;
}

Result<std::int64_t> ParameterReader::whole_number(
    std::string_view name) const {
  const Result<Rational> value = number(name);
  if (!value) return tl::unexpected<Error>(value.error());
  constexpr std::int64_t kMost = std::numeric_limits<std::int32_t>::max();
  if (!value->is_integer() || *value < Rational(-kMost) ||
      *value > Rational(kMost)) {
    return refuse_requirement(names_.id,
                              "parameter \"" + std::string(name) +
                                  "\": found " + text(name) +
                                  ", expected a whole number",
                              example_of(names_));
  }
  return static_cast<std::int64_t>(value->num());
}

Result<Rational> ParameterReader::frequency(std::string_view name) const {
  const Result<Rational> value = parse_frequency(text(name));
  if (!value) return refuse(name, value.error());
  return value;
}

Result<Rational> ParameterReader::time(std::string_view name) const {
  const Result<Rational> value = parse_time(text(name));
  if (!value) return refuse(name, value.error());
  return value;
}

Result<ToleranceBand> ParameterReader::tolerance_or_zero(
    std::string_view name) const {
  const Result<ToleranceBand> value = parse_tolerance_or_zero(text(name));
  if (!value) return refuse(name, value.error());
  return value;
}

}  // namespace clockassay
