// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>

#include "drift/named_table.h"

namespace clockassay {

/// A temperature as a row states it.
struct TemperatureCell {
  double celsius = 0.0;
  std::optional<double> u;  ///< k = 1
};

/// The columns temperature_c, which each row needs, and u_temperature_c.
/// Errors: kBadData
Result<TemperatureCell> temperature_in(const NamedTable& table,
                                       const TableRow& row);

}  // namespace clockassay
