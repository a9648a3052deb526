// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "capture/vcd_id_table.h"
#include "capture/vcd_variable.h"
#include "clockassay/base/rational.h"
#include "clockassay/base/result.h"
#include "clockassay/base/warning.h"

namespace clockassay {

/// What stands before the values.
struct VcdHeader {
  std::optional<Rational> tick_s;  ///< nullopt: the file has no $timescale
  std::vector<VcdVar> vars;        ///< in file order
  VcdIdTable ids;
  /// Stated by a comment; an error if it cannot be read, with its place.
  std::optional<Result<Rational>> sample_rate_hz;
  std::size_t sample_rate_byte = 0;  ///< of that comment
  std::vector<Warning> warnings;
  std::int64_t unusual_syntax = 0;
  std::size_t end = 0;   ///< first byte that is no declaration
  bool has_end = false;  ///< there was an $enddefinitions
  std::size_t timescale_byte = 0;
  std::string timescale;  ///< as it stands in the file, without blanks
};

/// Reads the declarations of a VCD: IEEE 1364-2005, 18.2.1 to 18.2.3 and 18.4,
/// as docs/formats/vcd.md says. `whole`: the prefix is all there is; else
/// needs_more is set when the declarations do not end within it.
/// Errors: kBadData with the byte.
Result<VcdHeader> parse_vcd_declarations(std::string_view prefix, bool whole,
                                         bool& needs_more);

}  // namespace clockassay
