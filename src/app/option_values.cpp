// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/option_values.h"

#include <CLI/CLI.hpp>
#include <algorithm>
#include <charconv>

#include "clockassay/base/decimal.h"
#include "clockassay/base/nearest_name.h"
#include "clockassay/base/quantity_text.h"

namespace clockassay {
namespace {

std::string in_quotes(std::string_view text) {
  return '"' + std::string(text) + '"';
}

bool may_lack_value(const OptionInfo& option) {
  return option.value.starts_with("[=");
}

std::string_view name_part(std::string_view arg) {
  return arg.substr(0, arg.find('='));
}

bool is_option(std::string_view arg) {
  return arg.size() > 1 && arg.starts_with('-');
}

tl::unexpected<Error> unknown_option(const std::vector<OptionInfo>& options,
                                     std::string_view arg) {
  std::vector<std::string_view> known;
  for (const OptionInfo& option : options) {
    known.push_back(option.name.substr(2));
  }
  std::string_view bare = name_part(arg);
  bare.remove_prefix(std::min(bare.find_first_not_of('-'), bare.size()));
  const std::string_view near = nearest_name(bare, known);
  return failure(ErrorCode::kUsage,
                 "unknown option " + in_quotes(name_part(arg)),
                 near.empty() ? "--help lists the options of this command"
                              : "did you mean --" + std::string(near) + "?");
}

// What the parser library would take otherwise: the next option as a value, or
// nothing where a value is needed.
std::optional<Error> missing_value(const std::vector<OptionInfo>& options,
                                   const std::vector<std::string>& args) {
  for (std::size_t i = 0; i < args.size(); ++i) {
    const auto option =
        std::find_if(options.begin(), options.end(), [&](const OptionInfo& o) {
          return !o.value.empty() && !may_lack_value(o) &&
                 o.name == name_part(args[i]);
        });
    if (option == options.end()) continue;
    const bool attached = args[i].find('=') != std::string::npos;
    const bool found = attached ? args[i].size() > option->name.size() + 1
                                : i + 1 < args.size() && !args[i + 1].empty() &&
                                      !args[i + 1].starts_with("--");
    if (!found) {
      return Error{ErrorCode::kUsage, std::string(option->name) +
                                          ": found no value, expected " +
                                          std::string(option->value)};
    }
    if (!attached) ++i;
  }
  return std::nullopt;
}

}  // namespace

std::optional<std::string> OptionValues::one(std::string_view name) const {
  const auto found = values.find(name);
  if (found == values.end()) return std::nullopt;
  return found->second.front();
}

std::vector<std::string> OptionValues::all(std::string_view name) const {
  const auto found = values.find(name);
  return found == values.end() ? std::vector<std::string>{} : found->second;
}

std::vector<std::string>::const_iterator end_of_options(
    const std::vector<std::string>& args) {
  return std::find(args.begin(), args.end(), "--");
}

Result<OptionValues> split_options(Command command,
                                   const std::vector<std::string>& all_args) {
  const auto end = end_of_options(all_args);
  const std::vector<std::string> args(all_args.begin(), end);
  const std::vector<OptionInfo> options = options_of(command);
  if (auto error = missing_value(options, args)) return tl::unexpected(*error);
  CLI::App parser;
  parser.set_help_flag();
  parser.allow_extras();
  std::map<std::string, std::vector<std::string>, std::less<>> values;
  std::map<std::string, int, std::less<>> switches;
  std::map<std::string, std::string, std::less<>> attached;
  for (const OptionInfo& option : options) {
    const std::string name(option.name);
    if (option.value.empty()) {
      parser.add_flag(name, switches[name]);
    } else if (may_lack_value(option)) {
      parser.add_flag(name, attached[name]);
    } else {
      // Without this an option would swallow the captures that follow it.
      parser.add_option(name, values[name])->allow_extra_args(false);
    }
  }
  try {
    std::vector<std::string> reversed(args.rbegin(), args.rend());
    parser.parse(std::move(reversed));
  } catch (const CLI::ParseError& error) {
    return failure(ErrorCode::kUsage, error.what());
  }
  OptionValues result;
  // Not positional arguments of the library, which takes "[a,b]" for two.
  result.others = parser.remaining();
  for (const std::string& other : result.others) {
    if (is_option(other)) return unknown_option(options, other);
  }
  if (end != all_args.end()) {
    result.others.insert(result.others.end(), end + 1, all_args.end());
  }
  for (const OptionInfo& option : options) {
    const std::string name(option.name);
    if (option.value.empty()) {
      if (switches[name] > 0) result.values[name] = {""};
    } else if (may_lack_value(option)) {
      // The parser library calls a switch that is given so.
      const std::string& value = attached[name];
      if (!value.empty()) result.values[name] = {value == "true" ? "" : value};
    } else if (!values[name].empty()) {
      if (values[name].size() > 1 && !option.repeatable) {
        return failure(ErrorCode::kUsage, name + " is given twice");
      }
      result.values[name] = values[name];
    }
  }
  return result;
}

void OptionReader::refuse(std::string_view name, const std::string& message,
                          std::string hint) {
  if (error_) return;
  error_ = Error{ErrorCode::kUsage, std::string(name) + ": " + message,
                 std::move(hint)};
}

std::optional<Rational> OptionReader::keep(std::string_view name,
                                           const Result<Rational>& result) {
  if (result) return *result;
  refuse(name, result.error().message, result.error().hint);
  return std::nullopt;
}

std::optional<Rational> OptionReader::frequency(std::string_view name) {
  const auto text = given_->one(name);
  return text ? keep(name, parse_frequency(*text)) : std::nullopt;
}

std::optional<Rational> OptionReader::sample_rate(std::string_view name) {
  const auto text = given_->one(name);
  return text ? keep(name, parse_sample_rate(*text)) : std::nullopt;
}

std::optional<Rational> OptionReader::time(std::string_view name) {
  const auto text = given_->one(name);
  return text ? keep(name, parse_time(*text)) : std::nullopt;
}

std::vector<Rational> OptionReader::times(std::string_view name) {
  std::vector<Rational> list;
  const auto text = given_->one(name);
  if (!text) return list;
  std::string_view rest = *text;
  while (true) {
    const std::size_t end = std::min(rest.find(','), rest.size());
    const auto one = keep(name, parse_time(rest.substr(0, end)));
    if (!one) return list;
    if (one->sign() <= 0) refuse(name, "found 0, expected a length of time");
    list.push_back(*one);
    if (end == rest.size()) return list;
    rest.remove_prefix(end + 1);
  }
}

std::optional<Rational> OptionReader::ppm(std::string_view name) {
  const auto text = given_->one(name);
  if (!text) return std::nullopt;
  if (const auto bare = parse_decimal(*text)) return bare->value;
  return keep(name, parse_fraction(*text));
}

std::optional<Rational> parse_share(std::string_view text) {
  const bool percent = text.ends_with('%');
  if (percent) text.remove_suffix(1);
  const auto number = parse_decimal(text);
  if (!number) return std::nullopt;
  if (!percent) return number->value;
  const auto value = divide(number->value, Rational(100));
  return value ? std::optional<Rational>(*value) : std::nullopt;
}

std::optional<Rational> OptionReader::fraction(std::string_view name) {
  const auto text = given_->one(name);
  if (!text) return std::nullopt;
  const std::optional<Rational> value = parse_share(*text);
  if (!value || *value < Rational(0) || *value > Rational(1)) {
    refuse(name, "found " + in_quotes(*text) + ", expected 0 to 1, or percent");
    return std::nullopt;
  }
  return value;
}

std::optional<std::int64_t> OptionReader::whole(std::string_view name,
                                                std::int64_t low,
                                                std::int64_t high) {
  const auto text = given_->one(name);
  if (!text) return std::nullopt;
  std::int64_t value = 0;
  const char* end = text->data() + text->size();
  const auto read = std::from_chars(text->data(), end, value);
  if (read.ec != std::errc{} || read.ptr != end || value < low ||
      value > high) {
    refuse(name, "found " + in_quotes(*text) +
                     ", expected a whole number from " + std::to_string(low) +
                     " to " + std::to_string(high));
    return std::nullopt;
  }
  return value;
}

std::optional<std::string> OptionReader::word(std::string_view name) {
  const auto text = given_->one(name);
  if (!text) return std::nullopt;
  const auto allowed = words_allowed(command_, name);
  if (std::find(allowed.begin(), allowed.end(), *text) != allowed.end()) {
    return text;
  }
  std::string list;
  for (const std::string_view word : allowed) {
    list += (list.empty() ? "" : ", ") + std::string(word);
  }
  refuse(name, "found " + in_quotes(*text) + ", expected one of " + list);
  return std::nullopt;
}

void read_coverage(OptionReader& reader, double& coverage) {
  const auto p = reader.fraction("--coverage");
  if (!p) return;
  coverage = p->to_double();
  // Also what is so near that the double is 1. Below a half U would mean less
  // than nothing to whoever reads it.
  if (coverage < 0.5 || coverage >= 1.0) {
    reader.refuse("--coverage", "found " + *reader.given().one("--coverage") +
                                    ", expected 0.5 or more and less than 1");
  }
}

}  // namespace clockassay
