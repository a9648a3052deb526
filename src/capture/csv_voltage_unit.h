// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <string_view>

#include "clockassay/base/result.h"
#include "clockassay/capture/read_options.h"

namespace clockassay {

/// The unit of the voltages in a column, as a power of ten of a volt: of a unit
/// row, if there is one, else written with the name as in `clk (mV)`, `clk
/// [mV]`, `clk_mV`, `clk/mV`. V, mV, uV, kV; v and mv too, since MV is nobody's
/// threshold. nullopt when neither says it.
std::optional<int> volt_exponent(std::string_view name,
                                 std::string_view unit_row);

/// The same numbers in the unit of a column, which is that of no exponent when
/// it states none: then it is taken to be the volt.
/// Errors: kUsage when a number cannot be held.
Result<AnalogueOptions> in_unit_of_column(AnalogueOptions options,
                                          std::optional<int> volt_exponent);

}  // namespace clockassay
