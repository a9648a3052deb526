// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string_view>

#include "clockassay/base/quantity_text.h"

namespace clockassay {

/// How a requirement is known to us.
enum class KnownBy {
  kQuotation,  ///< read in a quotation of the standard's text
  kSecondary,  ///< read in a text that cites the standard
  kDataSheet,  ///< read in data sheets of components
  kDerived,    ///< derived by ourselves
  kMemory,     ///< from memory
  kStated,     ///< nothing but what the one who asks states
};

/// The name as reports print it, such as "data_sheet".
const char* known_by_name(KnownBy known_by);

/// High time over period, as a fraction from 0 to 1.
struct DutyBand {
  double low;
  double high;
};

/// What an interface asks of a clock. Absent means that no limit is known,
/// not that anything goes.
struct Requirement {
  std::string_view id;  ///< such as "usb-fs-device"
  std::string_view title;
  std::optional<std::int64_t> nominal_hz;
  std::optional<ToleranceBand> tolerance;  ///< of the nominal, all causes
  std::optional<DutyBand> duty;
  std::string_view standard;
  std::string_view clause;  ///< empty when not known
  std::string_view note;
  KnownBy known_by;
  bool may_decide;  ///< whether a verdict may pass or fail on it
  bool computed;    ///< the limit comes from parameters, not from this row
};

/// All of them, in a fixed order, by interface.
std::span<const Requirement> requirements();

/// The row of that id, nullptr when there is none.
const Requirement* find_requirement(std::string_view id);

/// The id a mistyped one probably meant; empty when none is near.
std::string_view nearest_requirement_id(std::string_view text);

}  // namespace clockassay
