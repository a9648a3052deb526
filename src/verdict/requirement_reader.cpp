// SPDX-License-Identifier: GPL-3.0-or-later
#include "verdict/requirement_reader.h"

#include <algorithm>
#include <cstddef>
#include <iterator>
#include <optional>
#include <utility>

#include "clockassay/base/decimal.h"
#include "clockassay/base/nearest_name.h"
#include "clockassay/oscillator/requirements.h"

namespace clockassay {
namespace {

constexpr std::string_view kCanClassic = "can-classic";
constexpr std::string_view kCanParameters[] = {"sjw", "tbit", "pb1", "pb2"};
constexpr std::string_view kCanHint =
    "for example sjw 1, tbit 16, pb1 5, pb2 4, all in time quanta";

tl::unexpected<Error> refuse(std::string_view id, const std::string& why,
                             std::string hint = {}) {
  return failure(ErrorCode::kUsage,
                 "requirement \"" + std::string(id) + "\": " + why,
                 std::move(hint));
}

tl::unexpected<Error> refuse_unknown(std::string_view id) {
  const std::string_view nearest = nearest_requirement_id(id);
  if (!nearest.empty()) {
    return refuse(id, "there is none of that id",
                  "did you mean \"" + std::string(nearest) + "\"?");
  }
  std::string known = "known are";
  for (const Requirement& row : requirements()) {
    if (!row.tolerance && !row.computed) continue;
    known += (known.ends_with("are") ? " " : ", ") + std::string(row.id);
  }
  return refuse(id, "there is none of that id", known);
}

std::string source_of(const Requirement& row) {
  std::string source(row.standard);
  if (!row.clause.empty()) source += " " + std::string(row.clause);
  return source;
}

RequirementAsked asked_of(const Requirement& row, const ToleranceBand& limits) {
  return {std::string(row.id), std::string(row.title), limits, source_of(row),
          row.may_decide};
}

Result<RequirementAsked> resolve_can_classic(
    const Requirement& row, const std::map<std::string, Rational>& parameters) {
  for (const auto& [name, value] : parameters) {
    const auto* known =
        std::find(std::begin(kCanParameters), std::end(kCanParameters), name);
    if (known != std::end(kCanParameters)) continue;
    const std::string_view nearest = nearest_name(name, kCanParameters);
    return refuse(
        row.id,
        "unknown parameter \"" + name + "\", allowed are sjw, tbit, pb1, pb2",
        nearest.empty() ? std::string(kCanHint)
                        : "did you mean \"" + std::string(nearest) + "\"?");
  }
  Rational values[std::size(kCanParameters)];
  for (std::size_t i = 0; i < std::size(kCanParameters); ++i) {
    const std::string name(kCanParameters[i]);
    const auto found = parameters.find(name);
    if (found == parameters.end()) {
      return refuse(
          row.id,
          "parameter \"" + name + "\" is missing, expected sjw, tbit, pb1, pb2",
          std::string(kCanHint));
    }
    values[i] = found->second;
  }
  const Result<Rational> limit =
      can_classic_tolerance({values[0], values[1], values[2], values[3]});
  if (!limit) return refuse(row.id, limit.error().message, limit.error().hint);
  return asked_of(row, {*subtract(0, *limit), *limit});
}

}  // namespace

Result<RequirementAsked> resolve_requirement(
    std::string_view id, const std::map<std::string, Rational>& parameters) {
  const Requirement* row = find_requirement(id);
  if (row == nullptr) return refuse_unknown(id);
  if (id == kCanClassic) return resolve_can_classic(*row, parameters);
  if (row->computed) {
    return refuse(id,
                  "its limit depends on parameters this version does not "
                  "work out",
                  "work it out and give it as the tolerance instead");
  }
  if (!parameters.empty()) {
    return refuse(id, "unknown parameter \"" + parameters.begin()->first +
                          "\", it takes none");
  }
  if (!row->tolerance) {
    return refuse(id,
                  "it does not limit the frequency, and only the frequency "
                  "is judged in this version");
  }
  return asked_of(*row, *row->tolerance);
}

Result<RequirementAsked> read_requirement_option(std::string_view text) {
  const std::size_t comma = text.find(',');
  const std::string_view id = text.substr(0, comma);
  std::map<std::string, Rational> parameters;
  std::string_view rest =
      comma == std::string_view::npos ? "" : text.substr(comma + 1);
  while (comma != std::string_view::npos) {
    const std::size_t end = rest.find(',');
    const std::string_view item = rest.substr(0, end);
    const std::size_t equals = item.find('=');
    std::optional<Decimal> value;
    if (equals != std::string_view::npos) {
      value = parse_decimal(item.substr(equals + 1));
    }
    if (!value) {
      return refuse(
          id, "cannot read \"" + std::string(item) + "\", expected key=number",
          "for example can-classic,sjw=1,tbit=16,pb1=5,pb2=4");
    }
    const std::string key(item.substr(0, equals));
    if (!parameters.emplace(key, value->value).second) {
      return refuse(id, "parameter \"" + key + "\" is given twice");
    }
    if (end == std::string_view::npos) break;
    rest = rest.substr(end + 1);
  }
  return resolve_requirement(id, parameters);
}

}  // namespace clockassay
