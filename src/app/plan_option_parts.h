// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "app/option_values.h"
#include "clockassay/base/result.h"
#include "clockassay/plan/capture_plan.h"

// What the readers of the options of plans share.
namespace clockassay {

template <class T>
using Parser = Result<T> (*)(std::string_view);

template <class T>
std::optional<T> read_by(OptionReader& reader, std::string_view name,
                         Parser<T> parse) {
  const auto text = reader.given().one(name);
  if (!text) return std::nullopt;
  auto read = parse(*text);
  if (read) return *std::move(read);
  reader.refuse(name, read.error().message, read.error().hint);
  return std::nullopt;
}

/// Refuses a plan that lacks this option, and says what it is.
void ask_for(OptionReader& reader, std::string_view name,
             const std::string& what);

/// Refuses what is no option.
void refuse_others(OptionReader& reader, std::string_view command);

/// The options of plan capture.
CapturePlanInput read_capture_plan(OptionReader& reader);

}  // namespace clockassay
