// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/csv_column_fact.h"

#include <string>

#include "capture/csv_voltage_unit.h"
#include "capture/shown_text.h"

namespace clockassay {
namespace {

std::string threshold_reason(const AnalogueScale& scale,
                             const AnalogueOptions& options,
                             std::optional<int> volt_exponent) {
  if (scale.automatic_threshold) return "by its first rows";
  std::string reason = "--threshold";
  if (options.threshold_in_volts || options.hysteresis_in_volts) {
    if (!volt_exponent) {
      reason += ", taken for volts: the column states no unit";
    } else if (*volt_exponent != 0) {
      reason += ", from volts to the column's 1e" +
                std::to_string(*volt_exponent) + " V";
    }
  }
  if (scale.automatic_hysteresis) {
    reason += ", and the hysteresis a tenth of the swing of its first rows";
  }
  return reason;
}

}  // namespace

ReadingFact column_fact(const FirstCells& first, const ValueColumn& column,
                        const ReadOptions& options) {
  ReadingFact fact;
  fact.topic = "column " + shown_text(column.name);
  switch (column.kind) {
    case ValueKind::kLevels: {
      const auto& stated = options.csv.levels;
      const bool told =
          stated &&
          column.words.expected() == LevelWords(stated, column.mark).expected();
      fact.found = "levels";
      fact.because = told ? "--levels " + stated->first + "," + stated->second
                          : "all of its first " +
                                std::to_string(first.cells.size()) +
                                " cells are";
      break;
    }
    case ValueKind::kAnalogue: {
      const AnalogueScale& scale = column.analogue;
      const auto text = [&](Int128 value) {
        return analogue_text(value, scale.place);
      };
      fact.found = "voltages, which turn at " + text(scale.threshold) +
                   " with a hysteresis of " + text(scale.hysteresis);
      fact.because =
          threshold_reason(scale, *options.analogue, first.volt_exponent);
      break;
    }
    case ValueKind::kWords:
      fact.found = "bit " + std::to_string(column.targets.back().bit) +
                   " of words in base " + std::to_string(column.radix);
      fact.because = options.csv.radix ? "--radix" : "the prefix of its cells";
      break;
  }
  return fact;
}

}  // namespace clockassay
