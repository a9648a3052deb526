// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/oscillator/requirements.h"

#include <algorithm>
#include <array>
#include <iterator>

#include "clockassay/base/nearest_name.h"
#include "requirement_table.h"

namespace clockassay {

const char* known_by_name(KnownBy known_by) {
  switch (known_by) {
    case KnownBy::kQuotation:
      return "quotation";
    case KnownBy::kSecondary:
      return "secondary";
    case KnownBy::kDataSheet:
      return "data_sheet";
    case KnownBy::kDerived:
      return "derived";
    case KnownBy::kMemory:
      return "memory";
    case KnownBy::kStated:
      return "stated";
  }
  return "memory";
}

std::span<const Requirement> requirements() {
  return kRequirementTable;
}

const Requirement* find_requirement(std::string_view id) {
  const auto* row =
      std::find_if(std::begin(kRequirementTable), std::end(kRequirementTable),
                   [id](const Requirement& r) { return r.id == id; });
  return row == std::end(kRequirementTable) ? nullptr : row;
}

std::string_view nearest_requirement_id(std::string_view text) {
  std::array<std::string_view, std::size(kRequirementTable)> ids;
  std::transform(std::begin(kRequirementTable), std::end(kRequirementTable),
                 ids.begin(), [](const Requirement& r) { return r.id; });
  return nearest_name(text, ids);
}

}  // namespace clockassay
