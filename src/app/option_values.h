// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "app/option_table.h"
#include "clockassay/base/rational.h"
#include "clockassay/base/result.h"

namespace clockassay {

/// The options of one command as given, and its other arguments.
struct OptionValues {
  std::map<std::string, std::vector<std::string>, std::less<>> values;
  std::vector<std::string> others;

  bool has(std::string_view name) const { return values.contains(name); }
  std::optional<std::string> one(std::string_view name) const;
  std::vector<std::string> all(std::string_view name) const;
};

/// Where "--" stands, after which everything is a capture; else the end.
/// It is never an option's value.
std::vector<std::string>::const_iterator end_of_options(
    const std::vector<std::string>& args);

/// Splits the arguments after the command's name.
/// Errors: kUsage for options that are unknown (with the nearest known one),
///         lack their value, or are given twice.
Result<OptionValues> split_options(Command command,
                                   const std::vector<std::string>& args);

/// "0.3" or "30%" as a fraction; absent: neither.
std::optional<Rational> parse_share(std::string_view text);

/// Reads values one after the other; remembers the first error.
class OptionReader {
 public:
  OptionReader(Command command, const OptionValues& given)
      : command_(command), given_(&given) {}

  std::optional<Rational> frequency(std::string_view name);
  /// As a frequency, or in samples per second.
  std::optional<Rational> sample_rate(std::string_view name);
  std::optional<Rational> time(std::string_view name);
  /// Lengths of time, a comma between them; none where none is given.
  std::vector<Rational> times(std::string_view name);
  /// Parts per million; a bare number is ppm.
  std::optional<Rational> ppm(std::string_view name);
  /// 0 to 1, or in percent.
  std::optional<Rational> fraction(std::string_view name);
  /// A whole number from `low` to `high`.
  std::optional<std::int64_t> whole(std::string_view name, std::int64_t low,
                                    std::int64_t high);
  /// One of the words that the table of options has for it.
  std::optional<std::string> word(std::string_view name);
  /// Records an error about an option.
  void refuse(std::string_view name, const std::string& message,
              std::string hint = {});
  const std::optional<Error>& error() const { return error_; }
  const OptionValues& given() const { return *given_; }

 private:
  std::optional<Rational> keep(std::string_view name,
                               const Result<Rational>& result);

  Command command_;
  const OptionValues* given_;
  std::optional<Error> error_;
};

/// --coverage, where it is given: from a half to below one.
void read_coverage(OptionReader& reader, double& coverage);

}  // namespace clockassay
