// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <map>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "clockassay/base/quantity_text.h"
#include "clockassay/base/rational.h"
#include "clockassay/base/result.h"

namespace clockassay {

/// Parameters as written: numbers, or quantities with their unit.
using RequirementParameters = std::map<std::string, std::string>;

/// "requirement "can-classic": why", a kUsage.
tl::unexpected<Error> refuse_requirement(std::string_view id,
                                         const std::string& why,
                                         std::string hint = {});

/// What a requirement of that id takes.
struct ParameterNames {
  std::string_view id;
  std::span<const std::string_view> needed;
  std::span<const std::string_view> optional;
  std::string_view example;  ///< for hints
};

/// Reads the parameters of one requirement. All errors are kUsage and name the
/// requirement and the parameter.
class ParameterReader {
 public:
  /// Refuses unknown names, with the nearest known one, and missing ones.
  static Result<ParameterReader> open(const ParameterNames& names,
                                      const RequirementParameters& parameters);

  bool has(std::string_view name) const;
  Result<Rational> number(std::string_view name) const;
  /// Numbers, all without a unit or all times with one: of these, seconds.
  Result<std::vector<Rational>> numbers_or_times(
      std::span<const std::string_view> names) const;
  Result<std::int64_t> whole_number(std::string_view name) const;
  Result<Rational> frequency(std::string_view name) const;
  Result<Rational> time(std::string_view name) const;
  Result<ToleranceBand> tolerance_or_zero(std::string_view name) const;

 private:
  ParameterReader(const ParameterNames& names,
                  const RequirementParameters& parameters)
      : names_(names), parameters_(parameters) {}

  const std::string& text(std::string_view name) const;
  tl::unexpected<Error> refuse(std::string_view name, const Error& error) const;

  ParameterNames names_;
  RequirementParameters parameters_;
};

}  // namespace clockassay
